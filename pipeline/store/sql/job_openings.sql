-- one row per opening of a job: what is booked to it by name; hours, USD; from openings, cost_line_labour,
-- cost_line_materials, callback_visits
with own_labour as (
    select opening_id, sum(hours) as hours, sum(labour_cost) as labour_cost
    from cost_line_labour($as_of, $standard, $overhead)
    where job_id = $job_id
    group by opening_id
),
own_materials as (
    select opening_id, sum(quantity * unit_cost) as material_cost
    from cost_line_materials($as_of)
    where job_id = $job_id
    group by opening_id
),
own_callbacks as (
    select opening_id, sum(net_cost) as callback_cost
    from callback_visits($as_of, $standard, $warranty)
    where job_id = $job_id and counts
    group by opening_id
),
final_step as (
    select
        openings.opening_id,
        openings.wall_type,
        openings.opening_work,
        coalesce(own_labour.hours, 0) as hours,
        coalesce(own_labour.labour_cost, 0) as labour_cost,
        coalesce(own_materials.material_cost, 0) as material_cost,
        coalesce(own_callbacks.callback_cost, 0) as callback_cost
    from openings
    left join own_labour using (opening_id)
    left join own_materials using (opening_id)
    left join own_callbacks using (opening_id)
    where openings.job_id = $job_id
    order by openings.opening_id
)
select * from final_step
