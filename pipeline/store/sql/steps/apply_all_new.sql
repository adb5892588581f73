-- every candidate into KIND: nothing is held or waits, and KIND held nothing; from candidates
insert into KIND (COLUMNS, _own_key, _batch_id, _file_id, _line)
select COLUMNS, OWN_KEY, _batch_id, _file_id, _line
from candidates
