-- one row per job that rows in quarantine name, by its job or by one of its openings; from quarantine, waiting, openings
create or replace view waiting_rows_of_jobs as
with still_waiting as (
    select kind, _file_id, _line, raw from quarantine where state = 'waits'
),
unreadable as (
    select json_extract_string(raw, '$.job_id') as job_id, json_extract_string(raw, '$.opening_id') as opening_id
    from still_waiting
    where raw is not null
),
readable as (
    select 'jobs' as kind, _file_id, _line, job_id, null as opening_id from waiting.jobs
    union all
    select 'openings', _file_id, _line, job_id, opening_id from waiting.openings
    union all
    select 'labour', _file_id, _line, job_id, opening_id from waiting.labour
    union all
    select 'materials', _file_id, _line, job_id, opening_id from waiting.materials
    union all
    select 'other_costs', _file_id, _line, job_id, null from waiting.other_costs
    union all
    select 'install_checks', _file_id, _line, null, opening_id from waiting.install_checks
    union all
    select 'callbacks', _file_id, _line, null, opening_id from waiting.callbacks
    union all
    select 'quotes', _file_id, _line, job_id, null from waiting.quotes
),
named as (
    select job_id, opening_id from unreadable
    union all
    select readable.job_id, readable.opening_id
    from readable
    join still_waiting using (kind, _file_id, _line)
    where still_waiting.raw is null
),
final_step as (
    select coalesce(jobs.job_id, openings.job_id) as job_id, count(*) as waiting_rows
    from named
    left join jobs on named.job_id = jobs.job_id
    left join openings on named.opening_id = openings.opening_id
    where coalesce(jobs.job_id, openings.job_id) is not null
    group by all
)
select * from final_step;
