-- one row per purchase by as_of (a line without a day counts); units of `unit`, USD per unit; from materials
with bought as (
    select
        job_id,
        opening_id,
        item,
        spec,
        unit,
        bought_on,
        cast(quantity as double) as quantity,
        cast(unit_cost as double) as unit_cost
    from materials
    where bought_on is null or bought_on <= $as_of
)
select * from bought
order by job_id, item, bought_on, quantity
