-- one row per finished opening that a page may compare a new one with, newest job first; hours, in; from openings_with_hours
with told as (
    select
        opening_id,
        taken_hours as hours,
        wall_type,
        opening_work,
        coalesce(dig_method, '') as dig_method,
        well_type,
        rough_width_in,
        rough_height_in,
        depth_below_grade_in
    from openings_with_hours($as_of, $most)
)
select * from told
