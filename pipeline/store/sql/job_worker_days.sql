-- one row per worker and day of a job; hours, USD; from cost_line_labour
with final_step as (
    select worked_on, worker_id, sum(hours) as hours, sum(labour_cost) as cost
    from cost_line_labour($as_of, $standard, $overhead)
    where job_id = $job_id
    group by worked_on, worker_id
    order by worked_on, worker_id
)
select * from final_step
