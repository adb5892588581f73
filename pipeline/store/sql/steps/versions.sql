-- one row per version of a record of KIND that was ever in the book; replaced_by_batch null = the one that stands
create or replace temp view to_export as
with versions as (
    select COLUMNS, _key, _batch_id, _file_id, _line, cast(null as integer) as _until_batch_id from KIND
    union all
    select COLUMNS, _key, _batch_id, _file_id, _line, _until_batch_id from history.KIND
)
select
    versions._key as record,
    versions._batch_id as batch,
    batches.taken_in_at,
    files.path || coalesce('[' || files.sheet || ']', '') as file,
    versions._line as row,
    versions._until_batch_id as replaced_by_batch,
    COLUMNS
from versions
join files on files.file_id = versions._file_id
join batches on batches.batch_id = versions._batch_id
order by versions._key, versions._batch_id
