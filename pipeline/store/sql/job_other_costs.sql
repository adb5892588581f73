-- one row per category of other costs of a job; USD; from other_costs
with final_step as (
    select category, sum(amount) as amount
    from other_costs
    where job_id = $job_id and (incurred_on is null or incurred_on <= $as_of)
    group by category
    order by amount desc, category
)
select * from final_step
