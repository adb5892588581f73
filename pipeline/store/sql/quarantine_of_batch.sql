-- one row per row that batch $batch_id brought and that waits, $at_most of them; from quarantine, files
with final_step as (
    select
        files.path || coalesce('[' || files.sheet || ']', '') as file,
        quarantine._line as row,
        quarantine.reason
    from quarantine
    join files on files.file_id = quarantine._file_id
    where quarantine._batch_id = $batch_id and quarantine.state = 'waits'
    order by quarantine._file_id, quarantine._line
    limit $at_most
)
select * from final_step
