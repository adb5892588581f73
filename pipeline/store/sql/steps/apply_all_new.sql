-- every candidate into KIND: nothing is held, and KIND held nothing; from candidates
insert into KIND (COLUMNS, _key, _batch_id, _file_id, _line)
select COLUMNS, _key, _batch_id, _file_id, _line
from candidates
