-- one row per candidate that goes in, where KIND holds nothing yet: all are new
create or replace temp table verdicts as
select
    _key, _batch_id, _file_id, _line, waited,
    cast(null as integer) as seen_batch_id, 'new' as verdict
from candidates
where not exists (from held where held._key = candidates._key)
