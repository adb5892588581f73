-- one row per kind (materials, wages), thing and period: quantity or hours, USD, lines; exact; from materials, labour
-- now = first_day to last_day, before = the days from before_day to the day before first_day
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
        thing,
        paid_on >= cast($first_day as date) as is_now,
        cast(sum(quantity) as double) as quantity,
        cast(sum(amount) as double) as amount,
        count(*) as lines
    from paid
    where paid_on >= cast($before_day as date) and paid_on <= cast($last_day as date)
    group by all
    order by all
)
select * from final_step
