-- one row per job and item bought by as_of, both as numbers; USD; from cost_line_materials, standard_quantities
--
-- as_of  DATE; as for cost_line_materials
-- job_number = the row of the job in its table, item_number as in cost_item_numbers; joins on numbers keep this quick.
--
-- Price variance: what was paid less the list price of the day, over the lines that have one.
-- Use is compared against the saved quote's quantity, else the take-off's, in the same unit, at the mean list price
-- of what was bought. An item the job never bought is not compared: not recorded is not zero.
-- Products with a list price are wide: the book's largest quantity at its largest price does not overflow.
create or replace macro cost_of_item_keys(as_of) as table
with lines as (
    select
        jobs.rowid * 1024 + cost_item_numbers.item_number as item_key,
        lines.quantity,
        lines.quantity * lines.unit_cost as cost,
        lines.list_cost,
        cast(lines.quantity as decimal(28, 4)) * lines.list_cost as at_list
    from cost_line_materials(as_of) as lines
    join jobs on lines.job_id = jobs.job_id
    join cost_item_numbers on lines.item = cost_item_numbers.item and lines.unit = cost_item_numbers.unit
),
by_item as (
    select
        item_key,
        sum(cost) as cost,
        sum(quantity) as quantity,
        sum(cost) filter (list_cost is not null) as cost_of_listed,
        sum(quantity) filter (list_cost is not null) as quantity_of_listed,
        sum(at_list) as list_cost_of_listed,
        min(list_cost) as least_list_cost,
        max(list_cost) as most_list_cost
    from lines
    group by item_key
),
standards as (
    select jobs.rowid * 1024 + cost_item_numbers.item_number as item_key, standard_quantities.quantity, basis
    from standard_quantities
    join jobs on standard_quantities.job_id = jobs.job_id
    join cost_item_numbers
        on standard_quantities.item = cost_item_numbers.item and standard_quantities.unit = cost_item_numbers.unit
),
compared as (
    select by_item.*, coalesce(quoted.quantity, taken_off.quantity) as standard_quantity
    from by_item
    left join standards as quoted on by_item.item_key = quoted.item_key and quoted.basis = 'quote'
    left join standards as taken_off on by_item.item_key = taken_off.item_key and taken_off.basis = 'takeoff'
),
final_step as (
    select
        item_key // 1024 as job_number,
        item_key % 1024 as item_number,
        cost,
        quantity,
        standard_quantity,
        cost_of_listed,
        cost_of_listed - list_cost_of_listed as price_variance,
        case
            when least_list_cost = most_list_cost
                then cast(quantity - standard_quantity as decimal(28, 4)) * least_list_cost
            when quantity_of_listed <> 0
                then cast(
                    cast(list_cost_of_listed as double) / cast(quantity_of_listed as double)
                    * cast(quantity - standard_quantity as double) as decimal(28, 8)
                )
        end as usage_variance
    from compared
)
select * from final_step;
