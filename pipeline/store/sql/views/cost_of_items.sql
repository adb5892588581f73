-- one row per job and item bought by as_of, per unit; USD; from cost_of_item_keys, whose parameter it takes
create or replace macro cost_of_items(as_of) as table
with final_step as (
    select jobs.job_id, cost_item_numbers.item, cost_item_numbers.unit, keys.* exclude (job_number, item_number)
    from cost_of_item_keys(as_of) as keys
    join jobs on keys.job_number = jobs.rowid
    join cost_item_numbers on keys.item_number = cost_item_numbers.item_number
)
select * from final_step;
