-- one row per job begun by as_of, held for the questions that follow on this connection; USD, exact; from job_costs
create or replace temp table job_costs_held as
with final_step as (
    select * from job_costs($as_of, $standard, $overhead, $warranty)
)
select * from final_step
