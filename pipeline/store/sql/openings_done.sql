-- one row per finished opening with hours, of the newest $most, later id first; hours, in; from openings, jobs, labour
-- hours are the opening's own entries and its equal share of the job's shared ones
with finished as (
    select
        openings.*,
        jobs.completed_on,
        count(*) over (partition by openings.job_id) as openings_in_job
    from openings
    join jobs on jobs.job_id = openings.job_id
    where jobs.completed_on <= $as_of
),
own as (
    select job_id, opening_id, sum(hours) as hours
    from labour
    where worked_on <= $as_of
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
    limit $most
),
told as (
    select
        opening_id,
        completed_on::varchar as completed_on,
        taken_hours as hours,
        wall_type,
        opening_work,
        coalesce(dig_method, '') as dig_method,
        well_type,
        rough_width_in,
        rough_height_in,
        depth_below_grade_in,
        coalesce(soil, '') as soil,
        coalesce(drain, '') as drain
    from newest
    order by opening_id desc
)
select * from told
