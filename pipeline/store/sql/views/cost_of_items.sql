-- one row per job and item bought by as_of, per unit; USD; from cost_line_materials, standard_quantities
--
-- as_of  DATE; as for cost_line_materials
--
-- Price variance: what was paid less the list price of the day, over the lines that have one.
-- Use is compared against the saved quote's quantity, else the take-off's, in the same unit, at the mean list price
-- of what was bought. An item the job never bought is not compared: not recorded is not zero.
create or replace macro cost_of_items(as_of) as table
with by_item as (
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
    from cost_line_materials(as_of)
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
final_step as (
    select
        by_item.*,
        standards.standard_quantity,
        cost_of_listed - list_cost_of_listed as price_variance,
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
)
select * from final_step;
