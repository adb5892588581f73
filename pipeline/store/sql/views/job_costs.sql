-- one row per job begun by as_of; hours, USD, exact and not rounded; from jobs, openings, labour, materials,
-- other_costs, callbacks, prices, standard_quantities
--
-- as_of             DATE; lines dated later are left out, lines without a date count
-- standard          LIST of STRUCT(valid_from DATE, value): standard cost of a labour hour
-- overhead_setting  LIST of STRUCT(valid_from DATE, value): overhead per labour hour
-- warranty_setting  LIST of STRUCT(valid_from DATE, value): months of warranty where the job names none
--
-- is_completed: completed on or before as_of. has_labour: at least one hour by then.
-- A job with more than one wall type (or kind of work) is 'mixed'; one without openings has none.
-- Variances: positive = cost more than the standard. Rate: against the standard of the days worked. Efficiency: hours
-- beyond the quoted ones and those of change orders, at the job's mean standard hour; null without quoted hours or labour.
create or replace macro job_costs(as_of, standard, overhead_setting, warranty_setting) as table
with opening_groups as (
    select
        job_id,
        count(*) as openings,
        case when min(wall_type) = max(wall_type) then min(wall_type) else 'mixed' end as wall_type,
        case when min(opening_work) = max(opening_work) then min(opening_work) else 'mixed' end as opening_work
    from openings
    group by job_id
),
other_by_job as (
    select job_id, sum(amount) as other_cost
    from other_costs
    where incurred_on is null or incurred_on <= as_of
    group by job_id
),
collected as (
    select
        jobs.job_id,
        jobs.branch,
        jobs.crew,
        jobs.quoted_on,
        jobs.started_on,
        case when jobs.completed_on <= as_of then jobs.completed_on end as completed_on,
        opening_groups.openings,
        opening_groups.wall_type,
        opening_groups.opening_work,
        jobs.contract_price,
        coalesce(jobs.change_orders, 0) as change_orders,
        coalesce(jobs.change_order_hours, 0) as change_order_hours,
        coalesce(jobs.change_order_cost, 0) as change_order_cost,
        jobs.quoted_labour_hours,
        jobs.quoted_cost,
        jobs.contract_price + coalesce(jobs.change_orders, 0) as revenue,
        coalesce(cost_of_labour.labour_lines, 0) > 0 as has_labour,
        coalesce(cost_of_labour.hours, 0) as actual_hours,
        coalesce(cost_of_labour.hours_at_standard, 0) as hours_at_standard,
        coalesce(cost_of_labour.labour_cost, 0) as labour_cost,
        coalesce(cost_of_labour.standard_labour_cost, 0) as standard_labour_cost,
        cost_of_labour.least_standard_hourly_cost,
        cost_of_labour.most_standard_hourly_cost,
        coalesce(cost_of_labour.overhead, 0) as overhead,
        coalesce(cost_of_materials.material_cost, 0) as material_cost,
        cost_of_materials.material_cost_with_list_price,
        cost_of_materials.material_price_variance,
        cost_of_materials.material_usage_variance,
        coalesce(other_by_job.other_cost, 0) as other_cost,
        coalesce(cost_of_callbacks.callbacks, 0) as callbacks,
        coalesce(cost_of_callbacks.callbacks_not_costed, 0) as callbacks_not_costed,
        coalesce(cost_of_callbacks.callback_cost, 0) as callback_cost
    from jobs
    left join opening_groups using (job_id)
    left join cost_of_labour(as_of, standard, overhead_setting) as cost_of_labour using (job_id)
    left join cost_of_materials(as_of) as cost_of_materials using (job_id)
    left join other_by_job using (job_id)
    left join cost_of_callbacks(as_of, standard, warranty_setting) as cost_of_callbacks using (job_id)
    where jobs.started_on <= as_of
),
standard_for_expected_hours as (
    select
        *,
        cast(quoted_labour_hours + change_order_hours as decimal(18, 4)) as expected_hours,
        case
            when least_standard_hourly_cost = most_standard_hourly_cost
                then expected_hours * least_standard_hourly_cost
            when actual_hours > 0
                then cast(
                    cast(expected_hours as double) * cast(standard_labour_cost as double)
                    / cast(actual_hours as double) as decimal(28, 8)
                )
        end as standard_cost_of_expected_hours
    from collected
),
final_step as (
    select
        * exclude (least_standard_hourly_cost, most_standard_hourly_cost),
        revenue - labour_cost - material_cost - other_cost as gross_profit,
        gross_profit - overhead as job_profit,
        job_profit - callback_cost as profit_after_callbacks,
        standard_cost_of_expected_hours is not null as is_quoted,
        labour_cost - standard_labour_cost as labour_rate_variance,
        standard_labour_cost - standard_cost_of_expected_hours as labour_efficiency_variance
    from standard_for_expected_hours
)
select * from final_step;
