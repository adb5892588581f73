-- one row per open job and phase with hours by as_of, null = hours not split; h; from labour, job_costs_held
with final_step as (
    select labour.job_id, labour.phase, sum(labour.hours) as hours
    from labour
    join job_costs_held using (job_id)
    where job_costs_held.completed_on is null and labour.worked_on <= $as_of
    group by labour.job_id, labour.phase
)
select * from final_step
