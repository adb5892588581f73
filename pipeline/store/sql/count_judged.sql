-- one row per file of the batch and verdict on its rows; file null = rows of earlier batches that were released; from verdicts
with final_step as (
    select
        case when not waited then _file_id end as _file_id,
        case when waited then 'released' else verdict end as place,
        count(*) as row_count
    from verdicts
    group by all
)
select * from final_step
