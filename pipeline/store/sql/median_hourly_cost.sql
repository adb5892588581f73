-- one row; USD per hour; the median recorded hourly cost of the 12 months before as_of,
-- else of all hours before it; null when none was ever recorded; from labour
with recorded as (
    select worked_on, hourly_cost
    from labour
    where hourly_cost is not null and worked_on <= $as_of
),
medians as (
    select
        median(hourly_cost) filter (worked_on > cast($as_of as date) - interval 12 months) as last_year,
        median(hourly_cost) as ever
    from recorded
),
final_step as (
    select coalesce(last_year, ever) as median_hourly_cost from medians
)
select * from final_step
