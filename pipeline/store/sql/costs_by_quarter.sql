-- one row per group of completed jobs and quarter of the cost; USD as doubles; from job_costs_held, labour, materials
-- by, first_day, last_day: as in the question margins; a purchase without a day counts in the quarter of completion
with completed as (
    select
        *,
        job_group($by, completed_on, wall_type, crew, branch, opening_work, openings, job_id) as group_name
    from job_costs_held
    where completed_on >= coalesce($first_day, completed_on) and completed_on <= coalesce($last_day, completed_on)
),
costs as (
    select completed.group_name, completed.job_id, lines.worked_on as day, 'wages' as kind, lines.labour_cost as amount
    from cost_line_labour($as_of, $standard, $overhead) as lines
    join completed using (job_id)
    union all
    select
        completed.group_name,
        completed.job_id,
        coalesce(materials.bought_on, completed.completed_on),
        'materials',
        materials.quantity * materials.unit_cost
    from materials
    join completed using (job_id)
    where materials.bought_on is null or materials.bought_on <= $as_of
),
final_step as (
    select
        group_name,
        kind,
        year(day) || '-Q' || quarter(day) as quarter,
        cast(sum(amount) as double) as amount
    from costs
    group by all
    order by all
)
select * from final_step
