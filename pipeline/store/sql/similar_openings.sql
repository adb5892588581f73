-- one row per finished opening like the one asked for, likest first; hours; from openings, jobs, labour
-- hours are the opening's own entries and its equal share of the job's shared ones
-- unlikeness: 1 for another wall or kind of work, size differences over 24 in of width and height, 24 in of depth
with finished as (
    select openings.*, count(*) over (partition by openings.job_id) as openings_in_job
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
compared as (
    select
        opening_id,
        taken_hours,
        (wall_type <> $wall_type)::integer
        + (opening_work <> $opening_work)::integer
        + 0.5 * (coalesce(dig_method, '') <> coalesce($dig_method, ''))::integer
        + 0.5 * (well_type <> $well_type)::integer
        + abs(rough_width_in - $rough_width_in) / 24
        + abs(rough_height_in - $rough_height_in) / 24
        + coalesce(abs(depth_below_grade_in - $depth_below_grade_in) / 24, 0.5) as unlikeness
    from taken
    where taken_hours > 0
),
nearest as (
    select opening_id, taken_hours
    from compared
    order by unlikeness, opening_id desc
    limit $top
)
select * from nearest
