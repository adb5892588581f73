-- one row per group of completed jobs, grouped_by as in job_group; hours, USD, exact; from job_profit
create or replace macro job_profit_by_group(grouped_by) as table
with final_step as (
    select
        job_group(grouped_by, completed_on, wall_type, crew, branch, opening_work, openings, job_id) as group_name,
        count(*) as jobs,
        sum(revenue) as revenue,
        sum(actual_hours) as actual_hours,
        sum(labour_cost) as labour_cost,
        sum(material_cost) as material_cost,
        sum(other_cost) as other_cost,
        sum(gross_profit) as gross_profit,
        sum(overhead) as overhead,
        sum(job_profit) as job_profit,
        sum(callback_cost) as callback_cost,
        sum(profit_after_callbacks) as profit_after_callbacks
    from job_profit
    where status = 'completed'
    group by all
    order by group_name
)
select * from final_step;
