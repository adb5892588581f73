-- one row per row that waits, for people: where it stands, what is wrong first, all reasons; from quarantine, files
create or replace view quarantined_rows as
with final_step as (
    select
        quarantine.quarantine_id,
        quarantine.kind,
        files.path || coalesce('[' || files.sheet || ']', '') as file,
        quarantine._line as row,
        quarantine.column_name as column,
        quarantine.value,
        quarantine.reason
    from quarantine
    join files on files.file_id = quarantine._file_id
    where quarantine.state = 'waits'
    order by quarantine._file_id, quarantine._line, quarantine._key
)
select * from final_step;
