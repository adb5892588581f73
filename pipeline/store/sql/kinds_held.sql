-- one row per record kind: records, rows that wait, first and last day they are about; from every record table, quarantine
with waits as (
    select kind, count(*) as waiting from quarantine where state = 'waits' group by kind
),
held as (
    select 0 as place, 'jobs' as kind, count(*) as rows, min(started_on) as first_date, max(coalesce(completed_on, started_on)) as last_date from jobs
    union all
    select 1, 'openings', count(*), min(jobs.started_on), max(coalesce(jobs.completed_on, jobs.started_on))
    from openings left join jobs using (job_id)
    union all
    select 2, 'labour', count(*), min(worked_on), max(worked_on) from labour
    union all
    select 3, 'materials', count(*), min(bought_on), max(bought_on) from materials
    union all
    select 4, 'other_costs', count(*), min(incurred_on), max(incurred_on) from other_costs
    union all
    select 5, 'install_checks', count(*), min(checked_on), max(checked_on) from install_checks
    union all
    select 6, 'weather', count(*), min(observed_on), max(observed_on) from weather
    union all
    select 7, 'callbacks', count(*), min(reported_on), max(reported_on) from callbacks
    union all
    select 8, 'prices', count(*), min(effective_on), max(effective_on) from prices
    union all
    select 9, 'quotes', count(*), min(quoted_on), max(quoted_on) from quotes
),
final_step as (
    select held.kind, held.rows, coalesce(waits.waiting, 0) as waiting, held.first_date, held.last_date
    from held
    left join waits using (kind)
    order by held.place
)
select * from final_step
