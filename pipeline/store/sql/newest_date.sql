-- one row; date; from labour, jobs, callbacks
with dates as (
    select max(worked_on) as newest from labour
    union all
    select max(completed_on) from jobs
    union all
    select max(reported_on) from callbacks
)
select max(newest) as newest from dates
