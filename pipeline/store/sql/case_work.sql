-- one row per phase worked for an opening or shared by its job, by as_of; days, hours; from labour
with worked as (
    select
        coalesce(phase, 'not split') as phase,
        worked_on,
        hours
    from labour
    where job_id = $job_id
        and (opening_id = $opening_id or opening_id is null)
        and worked_on <= $as_of
),
final_step as (
    select
        phase,
        min(worked_on) as first_day,
        max(worked_on) as last_day,
        cast(sum(hours) as double) as hours
    from worked
    group by phase
)
select * from final_step
order by first_day, phase
