-- one row or none; the newest fit of one part; from models
with newest as (
    select part, as_of, fitted_at, body
    from models
    where part = $part
    order by fitted_at desc
    limit 1
)
select * from newest
