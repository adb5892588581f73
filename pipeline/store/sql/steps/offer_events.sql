-- the rows of KIND that batch BATCH brought, as they came; from EVENTS, UNUSABLE, TEXTS
create or replace temp view incoming as
select COLUMNS, _key, _batch_id, _file_id, _line, _quarantine_id
from EVENTS
where _batch_id = BATCH;

create or replace temp view incoming_bad as
select _key, _batch_id, _file_id, _line, column_name, value, reason, raw, alone, understood, _quarantine_id
from UNUSABLE
where _batch_id = BATCH;

create or replace temp view incoming_text as
select _key, raw
from TEXTS
where _batch_id = BATCH
