-- one row per job with hours by as_of; hours, USD; from cost_line_labour, whose parameters it takes
create or replace macro cost_of_labour(as_of, standard, overhead_setting) as table
with final_step as (
    select
        job_id,
        count(*) as labour_lines,
        sum(hours) as hours,
        sum(hours) filter (is_at_standard) as hours_at_standard,
        sum(labour_cost) as labour_cost,
        sum(standard_labour_cost) as standard_labour_cost,
        min(standard_hourly_cost) as least_standard_hourly_cost,
        max(standard_hourly_cost) as most_standard_hourly_cost,
        sum(overhead) as overhead
    from cost_line_labour(as_of, standard, overhead_setting)
    group by job_id
)
select * from final_step;
