-- one row per file of the batch: its rows that wait; from held, incoming, incoming_bad
with waiting as (
    select incoming._file_id from incoming semi join held on held._key = incoming._key
    union all
    select _file_id from incoming_bad
),
final_step as (
    select _file_id, 'quarantined' as place, count(*) as row_count
    from waiting
    group by _file_id
)
select * from final_step
