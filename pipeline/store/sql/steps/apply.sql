-- older versions to the history, new and changed rows into KIND, repeated rows to the sightings; from candidates, verdicts
insert into history.KIND (COLUMNS, _key, _batch_id, _file_id, _line, _until_batch_id)
select COLUMNS, _key, _batch_id, _file_id, _line, $batch_id
from KIND
where exists (from verdicts where verdicts._key = KIND._key and verdicts.verdict = 'changed');

delete from KIND
using verdicts
where verdicts._key = KIND._key and verdicts.verdict = 'changed';

insert into KIND (COLUMNS, _own_key, _batch_id, _file_id, _line)
select COLUMNS, OWN_KEY, _batch_id, _file_id, _line
from candidates
where exists (from verdicts where verdicts._key = candidates._key and verdicts.verdict <> 'same');

insert into sightings
select 'KIND', _key, _batch_id, _file_id, _line, seen_batch_id
from verdicts
where verdict = 'same'
