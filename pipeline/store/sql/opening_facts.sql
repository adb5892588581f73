-- one row per opening; in, lbft, °F; from openings, install_checks, jobs, labour, weather
-- The opening, its check card (dated by as_of) and the weather of its setting day: the first frame_setting day of the
-- opening, else of its job, else the day of the check.
-- $as_of date
with set_by_opening as (
    select opening_id, min(worked_on) as setting_day
    from labour
    where phase = 'frame_setting' and opening_id is not null and worked_on <= $as_of
    group by opening_id
),
set_by_job as (
    select job_id, min(worked_on) as setting_day
    from labour
    where phase = 'frame_setting' and worked_on <= $as_of
    group by job_id
),
checks as (
    select * from install_checks where checked_on <= $as_of
),
placed as (
    select
        openings.*,
        checks.* exclude (opening_id, _key, _own_key, _batch_id, _file_id, _line),
        jobs.weather_station,
        coalesce(set_by_opening.setting_day, set_by_job.setting_day, checks.checked_on) as setting_day
    from openings
    left join jobs on jobs.job_id = openings.job_id
    left join checks on checks.opening_id = openings.opening_id
    left join set_by_opening on set_by_opening.opening_id = openings.opening_id
    left join set_by_job on set_by_job.job_id = openings.job_id
),
final_step as (
    select
        placed.* exclude (weather_station, _key, _own_key, _batch_id, _file_id, _line)
            replace (
                coalesce(placed.existing_width_in, 0) as existing_width_in,
                coalesce(placed.existing_height_in, 0) as existing_height_in
            ),
        month(placed.setting_day) as setting_month,
        weather.temp_min_f,
        weather.temp_max_f,
        weather.precipitation_in
    from placed
    left join weather
        on weather.station_id = placed.weather_station and weather.observed_on = placed.setting_day
)
select * from final_step order by opening_id
