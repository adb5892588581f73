-- one row; date, null when nothing in the book has one; from jobs, quotes, prices, materials
-- for a book without any work yet, which can still be asked on starter rates
with days as (
    select max(started_on) as newest from jobs
    union all
    select max(quoted_on) from quotes
    union all
    select max(effective_on) from prices
    union all
    select max(bought_on) from materials
),
newest_known as (
    select max(newest) as newest from days
)
select * from newest_known
