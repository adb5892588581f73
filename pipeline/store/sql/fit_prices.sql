-- one row per item and spec: the price list in force at as_of; USD per unit; from prices
with in_force as (
    select
        item,
        coalesce(spec, '') as spec,
        max(effective_on) as effective_on,
        arg_max(unit, effective_on) as unit,
        cast(arg_max(pack_size, effective_on) as double) as pack_size,
        cast(arg_max(unit_cost, effective_on) as double) as unit_cost
    from prices
    where effective_on <= $as_of
    group by item, coalesce(spec, '')
)
select * from in_force
order by item, spec
