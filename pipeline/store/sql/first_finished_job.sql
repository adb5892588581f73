-- one row; day the first job was completed, null without any; from jobs
with first_day as (
    select min(completed_on) as day
    from jobs
)
select * from first_day
