-- one row per job completed in a span of days, with its group; from job_costs_held
-- by, first_day, last_day: as in the question margins
with final_step as (
    select
        job_id,
        case $by
            when 'month' then strftime(completed_on, '%Y-%m')
            when 'wall_type' then wall_type
            when 'crew' then crew
            when 'branch' then branch
            when 'opening_work' then opening_work
            when 'job_size' then job_size
            when 'job' then job_id
            else 'all'
        end as group_name
    from job_costs_held
    where completed_on >= coalesce($first_day, completed_on) and completed_on <= coalesce($last_day, completed_on)
)
select * from final_step
