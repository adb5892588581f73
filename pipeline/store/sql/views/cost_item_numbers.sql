-- one row per item and unit that was bought or has a standard quantity: a number for joining; from materials,
-- standard_quantities
create or replace view cost_item_numbers as
with named as (
    select item, unit from materials
    union
    select item, unit from standard_quantities
),
final_step as (
    select item, unit, row_number() over (order by item, unit) as item_number from named
)
select * from final_step;
