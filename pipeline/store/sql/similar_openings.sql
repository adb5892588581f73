-- one row per finished opening like the one asked for, likest first; hours; from openings_with_hours
-- unlikeness: 1 for another wall or kind of work, ½ for another dig or well, size differences over 24 in
with compared as (
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
    from openings_with_hours($as_of, $most)
),
nearest as (
    select opening_id, taken_hours
    from compared
    order by unlikeness, opening_id desc
    limit $top
)
select * from nearest
