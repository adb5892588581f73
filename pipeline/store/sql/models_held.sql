-- one row per part that the last fit could fit: its newest fit; from models
with final_step as (
    select part, arg_max(as_of, fitted_at) as as_of, max(fitted_at) as fitted_at
    from models
    group by part
    having arg_max(body, fitted_at) <> 'null'
    order by part
)
select * from final_step
