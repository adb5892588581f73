-- one row per row that repeats another of the same batch: it is seen in its own batch; from the frame new_copies, into sightings
insert into sightings
select $kind, _key, $batch_id, _file_id, _line, $batch_id
from new_copies
