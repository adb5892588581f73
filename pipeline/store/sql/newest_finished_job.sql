-- one row; day the newest job was completed by $as_of, null without any; from jobs
with newest_day as (
    select max(completed_on) as day
    from jobs
    where completed_on <= $as_of
)
select * from newest_day
