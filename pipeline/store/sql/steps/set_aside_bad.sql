-- one quarantine entry per row of this batch with a cell that cannot be used; from incoming_bad
insert into quarantine
select
    quarantine_name(files.content_hash, files.sheet, 'KIND', incoming_bad._line, incoming_bad._key),
    'KIND', incoming_bad._key, incoming_bad._batch_id, incoming_bad._file_id, incoming_bad._line,
    incoming_bad.column_name, incoming_bad.value, incoming_bad.reason, incoming_bad.raw, 'values', 'waits', null,
    incoming_bad.alone, incoming_bad.understood
from incoming_bad
join files on files.file_id = incoming_bad._file_id
