-- one row per job with purchases by as_of; USD; from cost_of_item_keys, whose parameter it takes
create or replace macro cost_of_materials(as_of) as table
with by_job as (
    select
        job_number,
        sum(cost) as material_cost,
        sum(cost_of_listed) as material_cost_with_list_price,
        sum(price_variance) as material_price_variance,
        sum(usage_variance) as material_usage_variance
    from cost_of_item_keys(as_of)
    group by job_number
),
final_step as (
    select jobs.job_id, by_job.* exclude (job_number)
    from by_job
    join jobs on by_job.job_number = jobs.rowid
)
select * from final_step;
