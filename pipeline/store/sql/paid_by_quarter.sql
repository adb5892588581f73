-- one row per kind (materials, wages), quarter and thing: quantity or hours, USD, lines; doubles; from paid_lines
with final_step as (
    select
        kind,
        year(paid_on) || '-Q' || quarter(paid_on) as quarter,
        thing,
        cast(sum(quantity) as double) as quantity,
        cast(sum(amount) as double) as amount,
        count(*) as lines
    from paid_lines()
    where paid_on <= $as_of
    group by all
    order by all
)
select * from final_step
