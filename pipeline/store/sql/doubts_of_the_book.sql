-- one row per record in the book that does not fit with other records, with the file it came from; from doubtful_rows, files
with final_step as (
    select
        doubts.file_id,
        files.path || coalesce('[' || files.sheet || ']', '') as file,
        doubts.line, doubts.column_name, doubts.value, doubts.sentence
    from doubtful_rows() as doubts
    join files using (file_id)
    order by doubts.file_id, doubts.line, doubts.column_name
)
select * from final_step
