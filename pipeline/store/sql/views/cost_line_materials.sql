-- one row per material line by as_of; USD; from materials, prices
--
-- as_of  DATE; lines bought later are left out, lines without a day count
--
-- list_cost = the list price in force on the day bought, of the line's spec, else of any spec; same unit.
-- It is null for a line without a day, without a list price by then, or listed in another unit only.
create or replace macro cost_line_materials(as_of) as table
with bought as (
    select job_id, opening_id, item, coalesce(spec, '') as spec, unit, bought_on, quantity, unit_cost
    from materials
    where bought_on is null or bought_on <= as_of
),
listed as (
    select item, coalesce(spec, '') as spec, unit, effective_on, unit_cost from prices
),
days as (
    select distinct bought_on from bought
),
list_price_of_the_day as (
    select keys.item, keys.spec, keys.unit, days.bought_on, listed.unit_cost
    from (select distinct item, spec, unit from listed) as keys
    cross join days
    asof join listed
        on keys.item = listed.item
        and keys.spec = listed.spec
        and keys.unit = listed.unit
        and days.bought_on >= listed.effective_on
),
final_step as (
    select bought.*, coalesce(own_spec.unit_cost, any_spec.unit_cost) as list_cost
    from bought
    left join list_price_of_the_day as own_spec
        on bought.item = own_spec.item
        and bought.spec = own_spec.spec
        and bought.unit = own_spec.unit
        and bought.bought_on = own_spec.bought_on
    left join list_price_of_the_day as any_spec
        on any_spec.spec = ''
        and bought.item = any_spec.item
        and bought.unit = any_spec.unit
        and bought.bought_on = any_spec.bought_on
)
select * from final_step;
