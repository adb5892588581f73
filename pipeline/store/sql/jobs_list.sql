-- one row per job held, completed or open; hours, USD, exact and not rounded; from job_costs_held, waiting_rows_of_jobs
-- job_id null = every job; only_open true = open jobs alone; completed ones only from first_day to last_day (null = ever)
-- columns as in the question margins; an open job has no ratios and no comparison with its quote yet
with listed as (
    select
        job_costs_held.*,
        job_id as group_name,
        1 as jobs,
        case when completed_on is null then 'open' else 'completed' end as status,
        (is_quoted and completed_on is not null)::integer as quoted_jobs,
        case when quoted_jobs = 1 then quoted_labour_hours end as quoted_hours,
        case when quoted_jobs = 1 then actual_hours end as hours_of_quoted_jobs,
        case when completed_on is not null then labour_efficiency_variance end as efficiency_of_completed,
        case when completed_on is not null then material_usage_variance end as usage_of_completed,
        callbacks as callback_count,
        case when completed_on is not null and has_labour then revenue end as ratio_revenue,
        case when completed_on is not null and has_labour then actual_hours end as ratio_hours,
        coalesce(waiting_rows_of_jobs.waiting_rows, 0) as waiting_rows
    from job_costs_held
    left join waiting_rows_of_jobs using (job_id)
    where job_id = coalesce($job_id, job_id)
        and (
            completed_on is null
            or (
                not $only_open
                and completed_on >= coalesce($first_day, completed_on)
                and completed_on <= coalesce($last_day, completed_on)
            )
        )
    order by coalesce(completed_on, date '9999-12-31'), job_id
),
final_step as (
    select
        * exclude (efficiency_of_completed, usage_of_completed)
            replace (efficiency_of_completed as labour_efficiency_variance, usage_of_completed as material_usage_variance),
        gross_profit as ratio_gross_profit,
        job_profit as ratio_job_profit,
        profit_after_callbacks as ratio_profit_after_callbacks
    from listed
)
select * from final_step
