-- one row per job completed in a span of days, with its group; from job_costs_held
-- by, first_day, last_day: as in the question margins
with final_step as (
    select
        job_id,
        job_group($by, completed_on, wall_type, crew, branch, opening_work, openings, job_id) as group_name
    from job_costs_held
    where completed_on >= coalesce($first_day, completed_on) and completed_on <= coalesce($last_day, completed_on)
)
select * from final_step
