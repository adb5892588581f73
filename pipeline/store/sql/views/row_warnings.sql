-- one row per warning about a row that was kept, or about a whole file (row null); from warnings, doubtful_rows, files, batches
create or replace view row_warnings as
with told as (
    select file_id, line, column_name, value, sentence from warnings
    union
    select file_id, line, column_name, value, sentence from doubtful_rows()
),
final_step as (
    select
        files.batch_id,
        files.path || coalesce('[' || files.sheet || ']', '') as file,
        files.kind,
        told.line as row,
        told.column_name as column,
        told.value,
        told.sentence as warning
    from told
    join files using (file_id)
    join batches using (batch_id)
    where batches.withdrawn_at is null
)
select * from final_step;
