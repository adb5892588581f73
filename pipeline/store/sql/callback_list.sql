-- one row per callback record reported by as_of, newest first; USD; from callback_visits, callbacks
-- days_open: days since the visit's first report while no record of it is closed or fixed; null otherwise and on duplicates
-- what was found, done or learned later than `book_known_until($as_of)` is null
-- cost: net of what was got back, on the visit's leader; null while not costed
with listed as materialized (
    select * from callback_visits($as_of, $standard, $warranty)
),
reports as (
    select
        listed.*,
        case when listed.outcome_known then callbacks.cause_found end as cause_found,
        case when callbacks.visited_on <= book_known_until($as_of) then callbacks.visited_on end as visited_on,
        case
            when coalesce(callbacks.visited_on <= book_known_until($as_of), true) then callbacks.visited_by_crew
        end as visited_by_crew,
        case when listed.outcome_known then callbacks.work_done end as work_done,
        case when listed.outcome_known then callbacks.fixed end as fixed,
        case when callbacks.closed_on <= book_known_until($as_of) then callbacks.closed_on end as closed_on,
        callbacks.duplicate_of
    from listed
    join callbacks on callbacks.callback_id = listed.callback_id
),
closures as (
    select
        visit_id,
        bool_or(closed_on is not null or coalesce(fixed, false)) as is_closed
    from reports
    group by visit_id
),
final_step as (
    select
        reports.callback_id,
        reports.visit_id,
        reports.opening_id,
        reports.job_id,
        reports.complaint,
        reports.reported_on,
        reports.counts,
        reports.why_not,
        reports.in_warranty,
        reports.days_since_completion < 0 as before_completion,
        cast(reports.labour_cost as double) as labour_cost,
        cast(reports.material_cost as double) as material_cost,
        cast(reports.recovered as double) as recovered,
        cast(reports.net_cost as double) as cost,
        reports.marked_standard,
        case
            when reports.is_leader and not closures.is_closed
                then cast($as_of as date) - reports.visit_reported_on
        end as days_open,
        reports.cause_found,
        reports.visited_on,
        reports.visited_by_crew,
        reports.work_done,
        reports.fixed,
        reports.closed_on,
        reports.duplicate_of
    from reports
    join closures on closures.visit_id = reports.visit_id
)
select * from final_step
order by reported_on desc, callback_id
