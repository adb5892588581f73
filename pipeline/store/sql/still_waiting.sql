-- one row: how many rows of the content that file $file_id brought still wait; from quarantine, files
with final_step as (
    select count(*) as waiting
    from quarantine
    join files on files.file_id = quarantine._file_id
    join files as this on this.file_id = $file_id
        and this.content_hash = files.content_hash
        and this.sheet is not distinct from files.sheet
        and this.kind = files.kind
    where quarantine.state = 'waits'
)
select * from final_step
