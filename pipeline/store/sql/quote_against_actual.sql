-- one row per measure, hours and cost, over jobs completed in a span of days that were quoted and have hours;
-- sums for a ratio and its range; h or USD as doubles; from job_costs_held
-- added up in one order, so that the same book gives the same sums; wall_type null = every job; cost = labour, material, other and overhead; change orders are added to what was quoted
with completed as (
    select *
    from job_costs_held
    where completed_on >= coalesce($first_day, completed_on)
        and completed_on <= coalesce($last_day, completed_on)
        and has_labour
        and ($wall_type is null or wall_type = $wall_type)
),
pairs as (
    select
        'hours' as measure,
        cast(quoted_labour_hours + change_order_hours as double) as quoted,
        cast(actual_hours as double) as actual
    from completed
    where quoted_labour_hours is not null
    union all
    select
        'cost',
        cast(quoted_cost + change_order_cost as double),
        cast(labour_cost + material_cost + other_cost + overhead as double)
    from completed
    where quoted_cost is not null
),
final_step as (
    select
        measure,
        count(*) as jobs,
        sum(quoted order by quoted, actual) as quoted,
        sum(actual order by quoted, actual) as actual,
        sum(quoted * quoted order by quoted, actual) as quoted_squared,
        sum(actual * actual order by quoted, actual) as actual_squared,
        sum(quoted * actual order by quoted, actual) as product
    from pairs
    group by measure
    order by measure desc
)
select * from final_step
