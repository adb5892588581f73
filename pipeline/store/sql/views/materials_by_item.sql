-- one row per job, item and unit; USD, exact; for any reader of the book; from cost_of_items
-- price and usage variance: plus = cost more than the list price, used more than the standard
create or replace view materials_by_item as
with final_step as (
    select job_id, item, unit, quantity, cost, standard_quantity, price_variance, usage_variance
    from cost_of_items(date '9999-12-31')
)
select * from final_step;
