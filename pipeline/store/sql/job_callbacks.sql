-- one row per callback record of a job; USD; from callback_visits
with final_step as (
    select callback_id, opening_id, reported_on, complaint, counts, why_not, net_cost
    from callback_visits($as_of, $standard, $warranty)
    where job_id = $job_id
    order by reported_on, callback_id
)
select * from final_step
