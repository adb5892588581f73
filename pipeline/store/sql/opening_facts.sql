-- one row per opening; in, lbft, °F; from openings, install_checks, jobs, weather, day_of_setting
-- The opening, its check card (dated by as_of) and the weather of its setting day.
-- $as_of date
with checks as (
    select * from install_checks where checked_on <= $as_of
),
placed as (
    select
        openings.*,
        checks.* exclude (opening_id, _key, _own_key, _batch_id, _file_id, _line),
        jobs.weather_station,
        day_of_setting.setting_day
    from openings
    left join jobs on jobs.job_id = openings.job_id
    left join checks on checks.opening_id = openings.opening_id
    left join day_of_setting($as_of) as day_of_setting on day_of_setting.opening_id = openings.opening_id
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
