-- What a row that waits would be without the other rows of its batch that have the same key, so that it is judged anew
-- when those are taken back.
--
-- alone: the reason it has by itself, null when none; understood: its values as JSON text, when only the others keep it out
alter table quarantine add column alone varchar;
alter table quarantine add column understood varchar;

-- where the row that carried a quarantine_id back stands
alter table corrections add column _file_id integer;
alter table corrections add column _line bigint;
