-- one row per line bought or hour entry paid: quantity or hours, USD; exact; from materials, labour
-- a material is one item, spec and unit; a wage one worker; lines without a worker or a cost are left out
create or replace macro paid_lines() as table
with final_step as (
    select
        'materials' as kind,
        concat_ws('|', item, coalesce(spec, ''), unit) as thing,
        bought_on as paid_on,
        quantity,
        quantity * unit_cost as amount
    from materials
    where quantity > 0
    union all
    select 'wages', worker_id, worked_on, hours, hours * hourly_cost
    from labour
    where worker_id is not null and hourly_cost is not null
)
select * from final_step;
