-- one row per opening of some jobs, with the crew and the month of the start of its job; in; from openings, jobs
with final_step as (
    select
        openings.*,
        jobs.crew,
        month(jobs.started_on) as month_of_start,
        count(*) over (partition by openings.job_id) as openings_in_job
    from openings
    join jobs using (job_id)
    where list_contains($job_ids, openings.job_id)
    order by openings.job_id, openings.opening_id
)
select * from final_step
