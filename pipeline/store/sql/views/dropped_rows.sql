-- one row per row that was dropped from quarantine, with the reason given; from quarantine, drops, files
create or replace view dropped_rows as
with final_step as (
    select
        quarantine.quarantine_id,
        quarantine.kind,
        files.path || coalesce('[' || files.sheet || ']', '') as file,
        quarantine._line as row,
        quarantine.reason as why_it_waited,
        drops.reason as why_it_was_dropped,
        drops.dropped_at
    from quarantine
    join drops using (quarantine_id, _batch_id)
    join files on files.file_id = quarantine._file_id
    where quarantine.state = 'dropped'
)
select * from final_step;
