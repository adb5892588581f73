-- one row per job completed by the as-of date; USD and hours as doubles, not rounded; from job_costs_held
-- no site, no customer: only what the pages may show
with final_step as (
    select
        job_id,
        completed_on,
        branch,
        crew,
        wall_type,
        revenue::double as revenue,
        labour_cost::double as labour_cost,
        material_cost::double as material_cost,
        other_cost::double as other_cost,
        overhead::double as overhead,
        callback_cost::double as callback_cost,
        actual_hours::double as actual_hours,
        quoted_labour_hours::double as quoted_hours,
        has_labour
    from job_costs_held
    where completed_on is not null
)
select * from final_step order by completed_on, job_id
