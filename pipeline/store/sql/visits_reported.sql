-- one row; callbacks that count reported in a span of days and from before_day to its start; USD; from callback_visits
with visits as (
    select reported_on, net_cost
    from callback_visits($as_of, $standard, $warranty)
    where counts and reported_on >= cast($before_day as date) and reported_on <= cast($last_day as date)
),
final_step as (
    select
        count(*) filter (reported_on >= cast($first_day as date)) as visits,
        count(*) filter (reported_on < cast($first_day as date)) as visits_before,
        count(*) filter (reported_on >= cast($first_day as date) and net_cost is null) as not_costed,
        coalesce(sum(net_cost) filter (reported_on >= cast($first_day as date)), 0) as cost
    from visits
)
select * from final_step
