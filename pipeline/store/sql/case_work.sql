-- one row per opening asked for and phase worked for it or shared by its job, by as_of; days, hours; from openings, labour
with wanted as (
    select opening_id, job_id
    from openings
    where opening_id in (select unnest(cast($opening_ids as varchar[])))
),
worked as (
    select
        wanted.opening_id,
        coalesce(labour.phase, 'not split') as phase,
        labour.worked_on,
        labour.hours
    from wanted
    join labour
        on labour.job_id = wanted.job_id
        and (labour.opening_id = wanted.opening_id or labour.opening_id is null)
    where labour.worked_on <= $as_of
),
final_step as (
    select
        opening_id,
        phase,
        min(worked_on) as first_day,
        max(worked_on) as last_day,
        cast(sum(hours) as double) as hours
    from worked
    group by opening_id, phase
)
select * from final_step
order by opening_id, first_day, phase
