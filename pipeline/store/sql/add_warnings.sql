-- the warnings of one file; from the frame new_warnings, into warnings
insert into warnings
select $file_id, line, "column", value, text
from new_warnings
