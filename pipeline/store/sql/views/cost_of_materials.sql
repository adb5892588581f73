-- one row per job with purchases by as_of; USD; from cost_of_items, whose parameter it takes
create or replace macro cost_of_materials(as_of) as table
with final_step as (
    select
        job_id,
        sum(cost) as material_cost,
        sum(cost_of_listed) as material_cost_with_list_price,
        sum(price_variance) as material_price_variance,
        sum(usage_variance) as material_usage_variance
    from cost_of_items(as_of)
    group by job_id
)
select * from final_step;
