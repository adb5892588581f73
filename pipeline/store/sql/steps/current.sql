-- one row per record of KIND, in the order in which they came
create or replace temp view to_export as
select COLUMNS
from KIND
order by _file_id, _line, _key
