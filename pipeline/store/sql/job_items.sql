-- one row per item and unit bought for a job; USD; from cost_of_items
with final_step as (
    select item, unit, quantity, cost, standard_quantity, price_variance, usage_variance
    from cost_of_items($as_of)
    where job_id = $job_id
    order by cost desc, item, unit
)
select * from final_step
