-- the rows of this batch as the next steps read them; from the frames incoming_rows, incoming_bad_rows
create or replace temp view incoming as
select COLUMNS, _key, _batch_id, _file_id, _line, cast(_quarantine_id as varchar) as _quarantine_id
from incoming_rows;

create or replace temp view incoming_bad as
select
    coalesce(
        _key,
        'row ' || md5(raw) || ' ' || row_number() over (partition by _key is null, raw order by _file_id, _line)
    ) as _key,
    _batch_id,
    _file_id,
    _line,
    "column" as column_name,
    value,
    reason,
    raw,
    alone,
    understood,
    cast(_quarantine_id as varchar) as _quarantine_id
from incoming_bad_rows
