-- one row per group of jobs completed in a span of days; hours, USD, exact and not rounded; from job_costs_held
-- by: month, wall_type, crew, branch, opening_work, job_size, job; anything else is one group
-- ratio_*: the same sums over jobs with a labour line, the only ones a ratio may use
with completed as (
    select
        *,
        job_group($by, completed_on, wall_type, crew, branch, opening_work, openings, job_id) as group_name
    from job_costs_held
    where completed_on >= coalesce($first_day, completed_on) and completed_on <= coalesce($last_day, completed_on)
),
final_step as (
    select
        group_name,
        count(*) as jobs,
        sum(revenue) as revenue,
        sum(labour_cost) as labour_cost,
        sum(material_cost) as material_cost,
        sum(other_cost) as other_cost,
        sum(overhead) as overhead,
        sum(callback_cost) as callback_cost,
        sum(actual_hours) as actual_hours,
        count(*) filter (is_quoted) as quoted_jobs,
        sum(quoted_labour_hours) filter (is_quoted) as quoted_hours,
        sum(change_order_hours) filter (is_quoted) as change_order_hours,
        sum(actual_hours) filter (is_quoted) as hours_of_quoted_jobs,
        sum(labour_rate_variance) as labour_rate_variance,
        sum(labour_efficiency_variance) as labour_efficiency_variance,
        sum(material_price_variance) as material_price_variance,
        sum(material_usage_variance) as material_usage_variance,
        sum(material_cost_with_list_price) as material_cost_with_list_price,
        sum(hours_at_standard) as hours_at_standard,
        sum(callbacks)::bigint as callback_count,
        sum(callbacks_not_costed)::bigint as callbacks_not_costed,
        sum(revenue) filter (has_labour) as ratio_revenue,
        sum(gross_profit) filter (has_labour) as ratio_gross_profit,
        sum(job_profit) filter (has_labour) as ratio_job_profit,
        sum(profit_after_callbacks) filter (has_labour) as ratio_profit_after_callbacks,
        sum(actual_hours) filter (has_labour) as ratio_hours
    from completed
    group by group_name
    order by group_name nulls last
)
select * from final_step
