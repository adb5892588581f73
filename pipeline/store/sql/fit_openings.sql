-- one row per opening of a job started by as_of; in; from openings, jobs
-- only what is known on the day of a quote
with known as (
    select
        openings.opening_id,
        openings.job_id,
        openings.wall_type,
        openings.wall_thickness_in,
        openings.opening_work,
        openings.rough_width_in,
        openings.rough_height_in,
        openings.existing_width_in,
        openings.existing_height_in,
        openings.depth_below_grade_in,
        openings.soil,
        openings.dig_method,
        openings.reinforced,
        openings.well_type,
        openings.well_width_in,
        openings.well_projection_in,
        openings.well_depth_in,
        openings.drain,
        openings.window_spec,
        openings.well_spec
    from openings
    join jobs on jobs.job_id = openings.job_id
    where jobs.started_on <= $as_of
)
select * from known
order by opening_id
