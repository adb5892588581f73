-- one row per phase of a job, null = hours not split; hours, USD; from cost_line_labour
with final_step as (
    select phase, sum(hours) as hours, sum(labour_cost) as cost
    from cost_line_labour($as_of, $standard, $overhead)
    where job_id = $job_id
    group by phase
    order by sum(hours) desc, phase
)
select * from final_step
