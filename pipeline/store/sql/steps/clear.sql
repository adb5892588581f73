-- KIND as if nothing had come yet; copies of rows stay noted, drops follow their rows; from quarantine, drops, handed_on, heirs
update drops
set _batch_id = heirs.batch_id
from quarantine
join heirs on heirs.file_id = quarantine._file_id
where quarantine.kind = 'KIND'
    and drops.quarantine_id = quarantine.quarantine_id
    and drops._batch_id = quarantine._batch_id;

delete from KIND;

delete from history.KIND;

delete from waiting.KIND;

delete from sightings where kind = 'KIND';

delete from quarantine where kind = 'KIND';

delete from corrections where kind = 'KIND';

insert into sightings
select 'KIND', handed_on._key, handed_on._batch_id, handed_on._file_id, handed_on._line, handed_on._batch_id
from handed_on
join first_places using (_key, _batch_id)
where first_places.place <> {file_id: handed_on._file_id, line: handed_on._line}
