-- entries that were dropped after batch $batch_id are dropped at the same point again; from drops, into quarantine
update quarantine
set state = 'dropped', closed_by_batch_id = drops.after_batch_id
from drops
where drops.after_batch_id = $batch_id
    and quarantine.quarantine_id = drops.quarantine_id
    and quarantine._batch_id = drops._batch_id
    and quarantine.state = 'waits'
