-- one row per measure, hours and cost, over jobs completed in a span of days that were quoted and have hours;
-- sums for a ratio and its range; h or USD; from job_costs_held
-- wall_type null = every job; cost = labour, material, other and overhead; change orders are added to what was quoted
-- summed as decimals, so that the same book gives the same sums in any order; handed out as doubles
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
        cast(quoted_labour_hours + change_order_hours as decimal(16, 4)) as quoted,
        cast(actual_hours as decimal(16, 4)) as actual
    from completed
    where quoted_labour_hours is not null
    union all
    select
        'cost',
        cast(quoted_cost + change_order_cost as decimal(16, 4)),
        cast(labour_cost + material_cost + other_cost + overhead as decimal(16, 4))
    from completed
    where quoted_cost is not null
),
final_step as (
    select
        measure,
        count(*) as jobs,
        cast(sum(quoted) as double) as quoted,
        cast(sum(actual) as double) as actual,
        cast(sum(quoted * quoted) as double) as quoted_squared,
        cast(sum(actual * actual) as double) as actual_squared,
        cast(sum(quoted * actual) as double) as product
    from pairs
    group by measure
    order by measure desc
)
select * from final_step
