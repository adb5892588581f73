-- one row per file content that stands in the book: the newest file that brought it; from files, batches
with final_step as (
    select files.content_hash, coalesce(files.sheet, '') as sheet, files.kind, max(files.file_id) as file_id
    from files
    join batches using (batch_id)
    where files.same_content_as is null and batches.withdrawn_at is null
    group by all
)
select * from final_step
