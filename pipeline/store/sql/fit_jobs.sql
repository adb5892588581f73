-- one row per job; h, dates; from jobs
-- completed_on is null while the job is open at as_of; quoted hours as typed, change orders beside them
with known as (
    select
        job_id,
        crew,
        started_on,
        case when completed_on <= $as_of then completed_on end as completed_on,
        cast(quoted_labour_hours as double) as quoted_labour_hours,
        cast(change_order_hours as double) as change_order_hours
    from jobs
    where started_on <= $as_of
)
select * from known
order by job_id
