-- one row per material line by as_of; USD; from materials, cost_at_list
--
-- as_of  DATE; lines bought later are left out, lines without a day count
--
-- list_cost = the list price in force on the day bought (see cost_at_list). It is null for a line without a day,
-- without a list price by then, or listed in another unit only.
create or replace macro cost_line_materials(as_of) as table
with bought as (
    select *, coalesce(bought_on, date '0001-01-01') as priced_on
    from materials
    where bought_on is null or bought_on <= as_of
),
final_step as (
    select
        bought.job_id,
        bought.opening_id,
        bought.item,
        bought.unit,
        bought.quantity,
        bought.unit_cost,
        cost_at_list.list_cost
    from bought
    join cost_at_list
        on bought.item = cost_at_list.item
        and coalesce(bought.spec, '') = cost_at_list.spec
        and bought.unit = cost_at_list.unit
        and bought.priced_on >= cost_at_list.from_day
        and bought.priced_on < cost_at_list.until_day
)
select * from final_step;
