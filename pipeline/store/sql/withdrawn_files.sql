-- one row per file of batch $batch_id, with the later batch through which its content is still in the book; from files, batches
with standing as (
    select files.content_hash, files.sheet, files.kind, min(files.batch_id) as batch_id
    from files
    join batches using (batch_id)
    where batches.withdrawn_at is null and files.same_content_as is null
    group by all
),
final_step as (
    select
        files.batch_id, files.path, files.sheet, files.kind, files.rows,
        standing.batch_id as still_here_with_batch
    from files
    left join standing
        on standing.content_hash = files.content_hash
        and standing.sheet is not distinct from files.sheet
        and standing.kind = files.kind
    where files.batch_id = $batch_id
    order by files.file_id
)
select * from final_step
