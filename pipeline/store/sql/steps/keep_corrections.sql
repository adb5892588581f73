-- one row per row of this batch that carried a quarantine_id back; from incoming, incoming_bad
insert into corrections
select 'KIND', _key, _batch_id, _quarantine_id, _file_id, _line from incoming where _quarantine_id is not null
union all
select 'KIND', _key, _batch_id, _quarantine_id, _file_id, _line from incoming_bad where _quarantine_id is not null
