-- one row per fitted part asked for: its newest fit; from models
with ranked as (
    select
        part,
        as_of,
        fitted_at,
        body,
        row_number() over (partition by part order by fitted_at desc) as age
    from models
    where list_contains($parts, part)
),
newest as (
    select part, as_of, fitted_at, body
    from ranked
    where age = 1
)
select * from newest
