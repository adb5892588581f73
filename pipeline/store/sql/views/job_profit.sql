-- one row per job, as of the newest record in the book; hours, USD, exact; for any reader of the book; from job_costs
-- open jobs show what they cost so far against their full price
create or replace view job_profit as
with newest as (
    select max(day) as day
    from (
        select max(worked_on) as day from labour
        union all
        select max(completed_on) from jobs
        union all
        select max(reported_on) from callbacks
    )
),
final_step as (
    select
        job_id,
        branch,
        crew,
        wall_type,
        opening_work,
        openings,
        started_on,
        completed_on,
        case when completed_on is null then 'open' else 'completed' end as status,
        revenue,
        actual_hours,
        quoted_labour_hours + change_order_hours as expected_hours,
        labour_cost,
        material_cost,
        other_cost,
        gross_profit,
        overhead,
        job_profit,
        callbacks,
        callback_cost,
        profit_after_callbacks,
        case when revenue <> 0 and has_labour then profit_after_callbacks / revenue end as margin_after_callbacks,
        labour_rate_variance,
        labour_efficiency_variance,
        material_price_variance,
        material_usage_variance
    from job_costs(
        (select day from newest),
        book_setting('standard_hourly_cost', null),
        book_setting('overhead_per_labour_hour', 0),
        book_setting('warranty_months', 24)
    )
)
select * from final_step;
