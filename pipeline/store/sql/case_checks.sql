-- one row per check card of the openings asked for, dated by as_of; in, lbft, °F; from install_checks
with final_step as (
    select * exclude (_key, _own_key, _batch_id, _file_id, _line)
    from install_checks
    where opening_id in (select unnest(cast($opening_ids as varchar[]))) and checked_on <= $as_of
)
select * from final_step
order by opening_id
