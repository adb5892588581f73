-- one row per row that waits, in the order of the files; $kind null = all kinds; from quarantine, files
with final_step as (
    select
        quarantine.quarantine_id,
        quarantine.kind,
        files.path || coalesce('[' || files.sheet || ']', '') as file,
        quarantine._line as row,
        quarantine.column_name as column,
        quarantine.value,
        quarantine.reason,
        quarantine.raw,
        quarantine.cause,
        quarantine._key,
        quarantine._batch_id
    from quarantine
    join files on files.file_id = quarantine._file_id
    where quarantine.state = 'waits' and (quarantine.kind = $kind or $kind is null)
    order by quarantine._file_id, quarantine._line, quarantine._key
)
select * from final_step
