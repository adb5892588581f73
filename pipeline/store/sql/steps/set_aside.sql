-- one quarantine entry per row that has to wait, with all its faults; from held, candidates, incoming_text
create or replace temp table held_rows as
select
    _key,
    waited,
    arg_min(column_name, place) as column_name,
    arg_min(value, place) as value,
    string_agg(reason, '; also ' order by place) as reason,
    arg_min(cause, place) as cause
from held
group by _key, waited;

insert into waiting.KIND (COLUMNS, _key, _batch_id, _file_id, _line)
select COLUMNS, _key, _batch_id, _file_id, _line
from candidates
where exists (from held_rows where held_rows._key = candidates._key and not held_rows.waited);

insert into quarantine
select
    quarantine_name(files.content_hash, files.sheet, 'KIND', rows_waiting._line, rows_waiting._key),
    'KIND', rows_waiting._key, rows_waiting._batch_id, rows_waiting._file_id, rows_waiting._line,
    held_rows.column_name, held_rows.value, held_rows.reason, incoming_text.raw, held_rows.cause, 'waits', null,
    null, null
from held_rows
join candidates as rows_waiting on rows_waiting._key = held_rows._key
join files on files.file_id = rows_waiting._file_id
left join incoming_text on incoming_text._key = held_rows._key
where not held_rows.waited;

update quarantine
set column_name = held_rows.column_name, value = held_rows.value, reason = held_rows.reason, cause = held_rows.cause
from held_rows
where held_rows.waited
    and quarantine.kind = 'KIND'
    and quarantine.state = 'waits'
    and quarantine._key = held_rows._key
