-- entries of KIND whose key comes again, or that are named by a quarantine_id, no longer wait; from incoming, incoming_bad
update quarantine
set state = 'replaced', closed_by_batch_id = $batch_id
where kind = 'KIND' and state = 'waits' and _batch_id <> $batch_id
    and (_key in (select _key from incoming) or _key in (select _key from incoming_bad));

update quarantine
set state = 'corrected', closed_by_batch_id = $batch_id
where kind = 'KIND' and state = 'waits' and _batch_id <> $batch_id
    and quarantine_id in (
        select _quarantine_id from incoming where _quarantine_id is not null
        union all
        select _quarantine_id from incoming_bad where _quarantine_id is not null
    )
