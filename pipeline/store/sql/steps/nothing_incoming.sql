-- a batch without rows of KIND: only rows that wait for a record may go in
create or replace temp view incoming as
select COLUMNS, _key, _batch_id, _file_id, _line, cast(null as varchar) as _quarantine_id
from KIND
limit 0;

create or replace temp view incoming_bad as
select
    _key, _batch_id, _file_id, _line, column_name, value, reason, raw, alone, understood,
    cast(null as varchar) as _quarantine_id
from quarantine
limit 0;

create or replace temp view incoming_text as
select _key, raw
from quarantine
limit 0
