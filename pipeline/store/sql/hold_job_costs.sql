-- one row per job begun by as_of, held for the questions that follow on this connection; USD, exact; from job_costs
create or replace temp table job_costs_held as
with final_step as (
    select
        *,
        case when openings >= 3 then '3 or more openings' when openings = 1 then '1 opening' else openings || ' openings' end
            as job_size
    from job_costs($as_of, $standard, $overhead, $warranty)
)
select * from final_step
