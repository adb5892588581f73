-- rows that waited and have gone in now wait no longer; from verdicts
delete from waiting.KIND
using verdicts
where verdicts.waited and verdicts._key = KIND._key and verdicts._batch_id = KIND._batch_id;

update quarantine
set state = 'released', closed_by_batch_id = $batch_id
from verdicts
where verdicts.waited
    and quarantine.kind = 'KIND'
    and quarantine._key = verdicts._key
    and quarantine._batch_id = verdicts._batch_id
