-- one row per labour line by as_of; hours, USD; from labour
--
-- as_of             DATE; hours worked later are left out
-- standard          LIST of STRUCT(valid_from DATE, value): standard cost of a labour hour; begins before the first hour
-- overhead_setting  LIST of STRUCT(valid_from DATE, value): overhead per labour hour; begins before the first hour
--
-- Hours without a recorded cost take the standard of the day worked (is_at_standard).
-- standard_labour_cost = hours at the standard of the day worked, whatever they really cost.
create or replace macro cost_line_labour(as_of, standard, overhead_setting) as table
with standard_steps as (
    select unnest(cast(standard as struct(valid_from date, value decimal(14, 4))[]), recursive := true)
),
overhead_steps as (
    select unnest(cast(overhead_setting as struct(valid_from date, value decimal(14, 4))[]), recursive := true)
),
days as (
    select distinct worked_on from labour where worked_on <= as_of
),
rates_of_the_day as (
    select
        days.worked_on,
        standard_steps.value as standard_hourly_cost,
        overhead_steps.value as overhead_hourly_cost
    from days
    asof join standard_steps on days.worked_on >= standard_steps.valid_from
    asof join overhead_steps on days.worked_on >= overhead_steps.valid_from
),
final_step as (
    select
        labour.job_id,
        labour.opening_id,
        labour.worked_on,
        labour.worker_id,
        labour.phase,
        labour.hours,
        labour.hourly_cost is null as is_at_standard,
        labour.hours * coalesce(labour.hourly_cost, rates_of_the_day.standard_hourly_cost) as labour_cost,
        rates_of_the_day.standard_hourly_cost,
        labour.hours * rates_of_the_day.standard_hourly_cost as standard_labour_cost,
        labour.hours * rates_of_the_day.overhead_hourly_cost as overhead
    from labour
    join rates_of_the_day on labour.worked_on = rates_of_the_day.worked_on
)
select * from final_step;
