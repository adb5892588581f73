-- one row per recorded day of a station among the days asked for; in, °F; from weather
with final_step as (
    select observed_on, temp_min_f, temp_max_f, precipitation_in
    from weather
    where station_id = $station and observed_on in (select unnest(cast($days as date[])))
)
select * from final_step
order by observed_on
