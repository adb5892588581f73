-- one row per kind (materials, wages), thing and period: quantity or hours, USD, lines; exact; from paid_lines
-- now = first_day to last_day, before = the days from before_day to the day before first_day
with final_step as (
    select
        kind,
        thing,
        paid_on >= cast($first_day as date) as is_now,
        cast(sum(quantity) as double) as quantity,
        cast(sum(amount) as double) as amount,
        count(*) as lines
    from paid_lines()
    where paid_on >= cast($before_day as date) and paid_on <= cast($last_day as date)
    group by all
    order by all
)
select * from final_step
