-- one row per job with a callback that counts; USD net of what was got back; from callback_visits
--
-- as_of, standard, warranty_setting: as for callback_visits
-- not_costed = visits that count and have neither hours nor cost yet: their cost is still missing from callback_cost.
create or replace macro cost_of_callbacks(as_of, standard, warranty_setting) as table
with final_step as (
    select
        job_id,
        count(*) as callbacks,
        count(*) filter (net_cost is null) as callbacks_not_costed,
        coalesce(sum(net_cost), 0) as callback_cost
    from callback_visits(as_of, standard, warranty_setting)
    where counts
    group by job_id
)
select * from final_step;
