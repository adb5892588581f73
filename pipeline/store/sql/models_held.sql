-- one row per fitted part: its newest fit; from models
with final_step as (
    select part, arg_max(as_of, fitted_at) as as_of, max(fitted_at) as fitted_at
    from models
    group by part
    order by part
)
select * from final_step
