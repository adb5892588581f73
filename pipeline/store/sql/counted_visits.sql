-- one row per callback record reported by as_of, money as doubles; USD; from the view callback_visits
-- by_words: left out because a cause found names the customer's side, nobody having said in `warranty` whose it is
-- $as_of date; $standard, $warranty lists of struct(valid_from, value)
with listed as (
    select
        visits.*,
        bool_or(callbacks.warranty is not null) over (partition by visits.visit_id) as somebody_said
    from callback_visits($as_of, $standard, $warranty) as visits
    join callbacks on callbacks.callback_id = visits.callback_id
),
final_step as (
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
        coalesce(why_not = 'not ours to pay', false) and not somebody_said as by_words,
        in_warranty,
        labour_cost::double as labour_cost,
        material_cost::double as material_cost,
        recovered::double as recovered,
        net_cost::double as net_cost,
        marked_standard
    from listed
)
select * from final_step order by opening_id, complaint, reported_on, callback_id
