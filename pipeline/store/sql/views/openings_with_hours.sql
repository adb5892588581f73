-- one row per finished opening with hours, newest job first, at most $most; hours; from openings, jobs, labour
-- hours are the opening's own entries and its equal share of the job's shared ones
create or replace macro openings_with_hours(as_of, most) as table
with finished as (
    select
        openings.*,
        jobs.completed_on,
        count(*) over (partition by openings.job_id) as openings_in_job
    from openings
    join jobs on jobs.job_id = openings.job_id
    where jobs.completed_on <= as_of
),
own as (
    select job_id, opening_id, sum(hours) as hours
    from labour
    where worked_on <= as_of
    group by job_id, opening_id
),
taken as (
    select
        finished.*,
        (coalesce(direct.hours, 0) + coalesce(shared.hours, 0) / openings_in_job)::double as taken_hours
    from finished
    left join own as direct on direct.job_id = finished.job_id and direct.opening_id = finished.opening_id
    left join own as shared on shared.job_id = finished.job_id and shared.opening_id is null
),
newest as (
    select *
    from taken
    where taken_hours > 0
    order by completed_on desc, opening_id desc
    limit most
)
select * from newest
