-- one row; crew-hours of the middle working day on past jobs, null without any; from labour, jobs
with days as (
    select labour.job_id, labour.worked_on, sum(labour.hours)::double as crew_hours
    from labour
    join jobs on jobs.job_id = labour.job_id
    where jobs.completed_on <= $as_of and labour.worked_on <= $as_of
    group by labour.job_id, labour.worked_on
),
middle as (
    select median(crew_hours) as crew_hours
    from days
)
select * from middle
