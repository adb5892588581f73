-- one row per item, spec and unit bought, and step of its list price: from_day up to, not including, until_day; USD;
-- from materials, prices
--
-- A spec has its own list price from the first day it is listed on, until then the price of any spec, in the same unit.
-- list_cost is null before the first of them; spec is '' where none is recorded. The steps of a spec cover every day.
create or replace view cost_at_list as
with bought as (
    select item, coalesce(spec, '') as spec, unit from materials group by all
),
listed as (
    select item, coalesce(spec, '') as spec, unit, effective_on, unit_cost from prices
),
own_steps as (
    select bought.*, listed.effective_on as from_day, listed.unit_cost as list_cost
    from bought
    join listed using (item, spec, unit)
),
first_own_steps as (
    select item, spec, unit, min(from_day) as first_day from own_steps group by all
),
any_spec_steps as (
    select bought.*, listed.effective_on as from_day, listed.unit_cost as list_cost
    from bought
    join listed on bought.item = listed.item and bought.unit = listed.unit and listed.spec = ''
    left join first_own_steps
        on bought.item = first_own_steps.item
        and bought.spec = first_own_steps.spec
        and bought.unit = first_own_steps.unit
    where bought.spec <> '' and listed.effective_on < coalesce(first_own_steps.first_day, date '9999-12-31')
),
steps as (
    select * from own_steps
    union all
    select * from any_spec_steps
    union all
    select item, spec, unit, date '0001-01-01', null from bought
),
final_step as (
    select
        *,
        coalesce(
            lead(from_day) over (partition by item, spec, unit order by from_day), date '9999-12-31'
        ) as until_day
    from steps
)
select * from final_step;
