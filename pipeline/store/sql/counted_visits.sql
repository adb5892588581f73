-- one row per callback record reported by as_of, money as doubles; USD; from the view callback_visits
-- $as_of date; $standard, $warranty lists of struct(valid_from, value)
with final_step as (
    select
        callback_id,
        visit_id,
        opening_id,
        job_id,
        complaint,
        reported_on,
        visit_reported_on,
        is_leader,
        counts,
        why_not,
        in_warranty,
        labour_cost::double as labour_cost,
        material_cost::double as material_cost,
        recovered::double as recovered,
        net_cost::double as net_cost,
        marked_standard
    from callback_visits($as_of, $standard, $warranty)
)
select * from final_step order by opening_id, complaint, reported_on, callback_id
