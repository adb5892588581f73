-- one row per class of rain; opening-days at risk and leak visits; in; from openings, jobs, weather, callback_visits
-- rain of a day: the wettest of that day and the two before, at the job's station; days without a record are left out
-- $as_of date; $standard, $warranty lists of struct(valid_from, value)
with terms as (
    select valid_from, cast(value as double) as months
    from (select unnest(cast($warranty as struct(valid_from date, value decimal(14, 4))[]), recursive := true))
),
finished as (
    select
        openings.opening_id,
        jobs.weather_station as station_id,
        jobs.completed_on as first_day,
        coalesce(jobs.warranty_months, terms.months, (select arg_min(months, valid_from) from terms)) as months
    from openings
    join jobs on jobs.job_id = openings.job_id
    asof left join terms on jobs.completed_on >= terms.valid_from
    where jobs.completed_on <= $as_of and jobs.weather_station is not null
),
watched as (
    select *, least($as_of, first_day + cast(floor(months * 30.4375) as integer)) as last_day
    from finished
),
changes as (
    select station_id, first_day as changed_on, 1 as change from watched
    union all
    select station_id, last_day + 1 as changed_on, -1 as change from watched
),
at_risk as (
    select station_id, changed_on, sum(sum(change)) over (partition by station_id order by changed_on) as openings
    from changes
    group by station_id, changed_on
),
rain as (
    select
        station_id,
        observed_on,
        max(precipitation_in) over three_days as wettest_in,
        count(precipitation_in) over three_days as recorded_days
    from weather
    window three_days as (
        partition by station_id order by observed_on range between interval 2 days preceding and current row
    )
),
classed as (
    select
        station_id,
        observed_on,
        case
            when wettest_in < 0.35 then 1
            when wettest_in < 0.75 then 2
            when wettest_in <= 1.5 then 3
            else 4
        end as class
    from rain
    where recorded_days = 3
),
exposure as (
    select classed.class, sum(at_risk.openings)::bigint as opening_days
    from classed
    asof join at_risk
        on classed.station_id = at_risk.station_id and classed.observed_on >= at_risk.changed_on
    group by classed.class
),
calls as (
    select classed.class, count(*) as callbacks
    from callback_visits($as_of, $standard, $warranty) as visits
    join watched on watched.opening_id = visits.opening_id
    join classed on classed.station_id = watched.station_id and classed.observed_on = visits.visit_reported_on
    where visits.counts and visits.complaint = 'leak' and visits.visit_reported_on between watched.first_day and watched.last_day
    group by classed.class
),
final_step as (
    select
        exposure.class,
        case exposure.class
            when 1 then 'under 0.35 in'
            when 2 then '0.35 to 0.75 in'
            when 3 then '0.75 to 1.5 in'
            else 'over 1.5 in'
        end as rain,
        exposure.opening_days,
        coalesce(calls.callbacks, 0) as callbacks
    from exposure
    left join calls using (class)
)
select * from final_step order by class
