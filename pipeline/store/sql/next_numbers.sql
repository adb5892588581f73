-- one row: the numbers the next batch and its first file get; from batches, files
with final_step as (
    select
        (select coalesce(max(batch_id), 0) + 1 from batches) as batch_id,
        (select coalesce(max(file_id), 0) + 1 from files) as file_id
)
select * from final_step
