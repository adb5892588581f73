-- one row per kind (materials, wages), quarter and thing: quantity or hours, USD, lines; doubles; from materials, labour
-- a material is one item, spec and unit; a wage one worker; lines without a day, a worker or a cost are left out
with paid as (
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
),
final_step as (
    select
        kind,
        year(paid_on) || '-Q' || quarter(paid_on) as quarter,
        thing,
        cast(sum(quantity) as double) as quantity,
        cast(sum(amount) as double) as amount,
        count(*) as lines
    from paid
    where paid_on <= $as_of
    group by all
    order by all
)
select * from final_step
