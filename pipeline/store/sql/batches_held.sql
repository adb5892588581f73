-- one row per ingest, oldest first; from batches, files
with final_step as (
    select
        batches.batch_id,
        batches.taken_in_at as at,
        count(files.file_id) as files,
        batches.rows,
        batches.accepted,
        batches.updated,
        batches.unchanged,
        batches.quarantined,
        batches.withdrawn_at is not null as withdrawn
    from batches
    left join files using (batch_id)
    group by all
    order by batches.batch_id
)
select * from final_step
