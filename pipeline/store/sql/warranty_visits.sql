-- one row per visit (duplicates merged) reported by as_of; USD; from callback_visits, callbacks
-- settled: known to be closed, or of a cause, or somebody said whose cost it is
-- costed_on: day from which the cost is known, at the latest as_of; null while it is not known
with listed as materialized (
    select * from callback_visits($as_of, $standard, $warranty)
),
visits as (
    select * from listed where is_leader
),
reports as (
    select
        listed.visit_id,
        max(callbacks.closed_on) filter (listed.outcome_known) as closed_on,
        bool_or(
            (listed.outcome_known and (callbacks.closed_on is not null or callbacks.cause_found is not null))
            or callbacks.warranty is not null
        ) as settled
    from listed
    join callbacks on callbacks.callback_id = listed.callback_id
    group by listed.visit_id
),
final_step as (
    select
        visits.visit_id,
        visits.opening_id,
        visits.complaint,
        visits.visit_reported_on as reported_on,
        case
            when visits.net_cost is not null
                then least(
                    greatest(visits.visit_reported_on, coalesce(reports.closed_on, visits.visit_reported_on)),
                    cast($as_of as date)
                )
        end as costed_on,
        cast(visits.net_cost + coalesce(visits.recovered, 0) as double) as gross_cost,
        cast(visits.recovered as double) as recovered,
        reports.settled,
        visits.counts
    from visits
    join reports on reports.visit_id = visits.visit_id
)
select * from final_step
order by reported_on, visit_id
