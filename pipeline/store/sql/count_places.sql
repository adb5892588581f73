-- one row per file of the batch and place of its rows; file null = rows of earlier batches that were released; from verdicts, held, incoming, incoming_bad
with gone_in as (
    select _file_id, verdict as place, count(*) as row_count
    from verdicts
    where not waited
    group by _file_id, verdict
),
waits as (
    select incoming._file_id, 'quarantined' as place, count(*) as row_count
    from incoming
    semi join held on held._key = incoming._key
    group by incoming._file_id
),
could_not_be_used as (
    select _file_id, 'quarantined' as place, count(*) as row_count
    from incoming_bad
    group by _file_id
),
released as (
    select cast(null as integer) as _file_id, 'released' as place, count(*) as row_count
    from verdicts
    where waited
),
final_step as (
    select _file_id, place, sum(row_count)::bigint as row_count
    from (from gone_in union all from waits union all from could_not_be_used union all from released)
    group by _file_id, place
)
select * from final_step
