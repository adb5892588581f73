-- one row per opening of a job completed by as_of; in, months; from openings, jobs
-- its warranty clock, its crew, and what a crew does not choose
-- warranty: LIST of STRUCT(valid_from DATE, value), months where the job names none; a date before the first entry takes it
with warranty_terms as (
    select valid_from, cast(value as double) as months
    from (select unnest(cast($warranty as struct(valid_from date, value decimal(14, 4))[]), recursive := true))
),
finished as (
    select
        openings.opening_id,
        openings.job_id,
        jobs.crew,
        jobs.completed_on,
        jobs.weather_station,
        openings.wall_type,
        openings.soil,
        openings.drain,
        openings.depth_below_grade_in,
        cast(jobs.warranty_months as double) as own_months
    from openings
    join jobs on jobs.job_id = openings.job_id
    where jobs.completed_on <= $as_of
),
final_step as (
    select
        finished.* exclude (own_months),
        coalesce(
            finished.own_months,
            warranty_terms.months,
            (select arg_min(months, valid_from) from warranty_terms)
        ) as months_of_warranty
    from finished
    asof left join warranty_terms on finished.completed_on >= warranty_terms.valid_from
)
select * from final_step
order by completed_on, opening_id
