-- one row per job, opening and phase; h; from labour
-- opening_id is null for entries shared by the job's openings, phase is null for hours not split
with worked as (
    select job_id, opening_id, phase, cast(sum(hours) as double) as hours
    from labour
    where worked_on <= $as_of
    group by job_id, opening_id, phase
)
select * from worked
order by job_id, opening_id, phase
