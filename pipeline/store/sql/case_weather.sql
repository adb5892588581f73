-- one row per recorded day among the days asked for, of each station asked for; in, °F; from weather
with final_step as (
    select station_id, observed_on, temp_min_f, temp_max_f, precipitation_in
    from weather
    where station_id in (select unnest(cast($stations as varchar[])))
        and observed_on in (select unnest(cast($days as date[])))
)
select * from final_step
order by station_id, observed_on
