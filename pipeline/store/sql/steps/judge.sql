-- one row per candidate that goes in: new, changed or same; with the version in the book that it repeats or replaces
create or replace temp table verdicts as
select
    candidates._key,
    candidates._batch_id,
    candidates._file_id,
    candidates._line,
    candidates.waited,
    KIND._batch_id as seen_batch_id,
    case
        when KIND._key is null then 'new'
        when DIFFERENT then 'changed'
        else 'same'
    end as verdict
from candidates
left join KIND on KIND._key = candidates._key
where not exists (from held where held._key = candidates._key)
