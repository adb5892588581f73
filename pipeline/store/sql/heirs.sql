-- one row per file of batch $batch_id whose content now comes first from a later file that had no effect: that one takes its place; from files, batches
with standing as (
    select files.*
    from files
    join batches using (batch_id)
    where batches.withdrawn_at is null and files.batch_id <> $batch_id
),
first_to_bring_it as (
    select
        content_hash, sheet, kind,
        min(file_id) as heir_id,
        arg_min(batch_id, file_id) as batch_id,
        arg_min(coalesce(same_content_as, 0), file_id) as same_content_as
    from standing
    group by all
),
final_step as (
    select leaving.file_id, heir.heir_id, heir.batch_id
    from files as leaving
    join first_to_bring_it as heir
        on heir.content_hash = leaving.content_hash
        and heir.sheet is not distinct from leaving.sheet
        and heir.kind = leaving.kind
    where leaving.batch_id = $batch_id and leaving.same_content_as is null and heir.same_content_as <> 0
)
select * from final_step
