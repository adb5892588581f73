-- one row per job with purchases by as_of; USD; from materials, prices, standard_quantities
--
-- as_of  DATE; lines bought later are left out, lines without a day count
--
-- Price standard of a line: the list price in force on the day bought, of its spec, else of any spec; same unit.
-- A line without a day, without a list price by then, or listed in another unit has no standard.
-- Use is compared per job and item bought: against the saved quote's quantity, else the take-off's, same unit,
-- at the mean list price of what was bought. An item the job never bought is not compared (not recorded is not zero).
create or replace macro cost_of_materials(as_of) as table
with bought as (
    select job_id, item, coalesce(spec, '') as spec, unit, bought_on, quantity, unit_cost
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
with_list_price as (
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
),
by_item as (
    select
        job_id,
        item,
        unit,
        sum(quantity * unit_cost) as cost,
        sum(quantity) as quantity,
        sum(quantity * unit_cost) filter (list_cost is not null) as cost_of_listed,
        sum(quantity) filter (list_cost is not null) as quantity_of_listed,
        sum(quantity * list_cost) as list_cost_of_listed,
        min(list_cost) as least_list_cost,
        max(list_cost) as most_list_cost
    from with_list_price
    group by job_id, item, unit
),
standards as (
    select
        job_id, item, unit,
        coalesce(
            min(quantity) filter (basis = 'quote'), min(quantity) filter (basis = 'takeoff')
        ) as standard_quantity
    from standard_quantities
    group by job_id, item, unit
),
compared as (
    select
        by_item.*,
        case
            when least_list_cost = most_list_cost
                then cast(quantity - standard_quantity as decimal(18, 4)) * least_list_cost
            when quantity_of_listed <> 0
                then cast(
                    cast(list_cost_of_listed as double) / cast(quantity_of_listed as double)
                    * cast(quantity - standard_quantity as double) as decimal(28, 8)
                )
        end as usage_variance
    from by_item
    left join standards using (job_id, item, unit)
),
final_step as (
    select
        job_id,
        sum(cost) as material_cost,
        sum(cost_of_listed) as material_cost_with_list_price,
        sum(cost_of_listed) - sum(list_cost_of_listed) as material_price_variance,
        sum(usage_variance) as material_usage_variance
    from compared
    group by job_id
)
select * from final_step;
