-- one row per row that may go into KIND now: those of this batch, and those that wait for a record; from incoming, waiting.KIND
create or replace temp view candidates as
select TYPED, _key, _batch_id, _file_id, _line, false as waited
from incoming
union all
select COLUMNS, _key, _batch_id, _file_id, _line, true as waited
from waiting.KIND as rows_waiting
semi join quarantine
    on quarantine.kind = 'KIND'
    and quarantine.state = 'waits'
    and quarantine.cause = 'link'
    and quarantine._batch_id = rows_waiting._batch_id
    and quarantine._key = rows_waiting._key;

create or replace temp table held (
    _key varchar, waited boolean, place integer, column_name varchar, value varchar, reason varchar, cause varchar
)
