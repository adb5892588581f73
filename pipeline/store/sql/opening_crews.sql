-- one row per opening with the crew of its job (null = not recorded); from openings, jobs
with final_step as (
    select openings.opening_id, jobs.crew
    from openings
    left join jobs on jobs.job_id = openings.job_id
)
select * from final_step order by opening_id
