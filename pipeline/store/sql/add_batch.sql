-- one batch, the sum of its files; from files, into batches
insert into batches
select
    $batch_id, $taken_in_at, $received_on,
    coalesce(sum(rows), 0), coalesce(sum(accepted), 0), coalesce(sum(updated), 0),
    coalesce(sum(unchanged), 0), coalesce(sum(quarantined), 0), $released, null
from files
where batch_id = $batch_id
