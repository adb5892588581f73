-- one row per opening of a job completed by as_of, in the order of warranty_openings; from openings, jobs, day_of_setting
-- the day it was set; null = not recorded
with final_step as (
    select
        openings.opening_id,
        jobs.completed_on,
        day_of_setting.setting_day
    from openings
    join jobs on jobs.job_id = openings.job_id
    left join day_of_setting($as_of) as day_of_setting on day_of_setting.opening_id = openings.opening_id
    where jobs.completed_on <= $as_of
)
select * from final_step
order by completed_on, opening_id
