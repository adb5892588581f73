-- one row per job completed in a span of days whose cost is doubtful: rows in quarantine name it, or it has no hours;
-- from job_costs_held, waiting_rows_of_jobs
with final_step as (
    select
        job_costs_held.job_id,
        coalesce(waiting_rows_of_jobs.waiting_rows, 0) as waiting_rows,
        not job_costs_held.has_labour as is_without_labour
    from job_costs_held
    left join waiting_rows_of_jobs using (job_id)
    where job_costs_held.completed_on >= coalesce($first_day, job_costs_held.completed_on)
        and job_costs_held.completed_on <= coalesce($last_day, job_costs_held.completed_on)
        and (waiting_rows_of_jobs.waiting_rows > 0 or not job_costs_held.has_labour)
    order by job_costs_held.job_id
)
select * from final_step
