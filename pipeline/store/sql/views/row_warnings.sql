-- one row per warning about a row that was kept, or about a whole file (row null); from warnings, files, batches
create or replace view row_warnings as
with final_step as (
    select
        files.batch_id,
        files.path || coalesce('[' || files.sheet || ']', '') as file,
        files.kind,
        warnings.line as row,
        warnings.column_name as column,
        warnings.value,
        warnings.sentence as warning
    from warnings
    join files using (file_id)
    join batches using (batch_id)
    where batches.withdrawn_at is null
)
select * from final_step;
