-- one row per opening; from openings, labour, install_checks
--
-- as_of        DATE; work and cards dated later are left out
-- setting_day  the first frame_setting day of the opening, else of its job, else the day of the check; null: not recorded
create or replace macro day_of_setting(as_of) as table
with set_by_opening as (
    select opening_id, min(worked_on) as setting_day
    from labour
    where phase = 'frame_setting' and opening_id is not null and worked_on <= as_of
    group by opening_id
),
set_by_job as (
    select job_id, min(worked_on) as setting_day
    from labour
    where phase = 'frame_setting' and worked_on <= as_of
    group by job_id
),
final_step as (
    select
        openings.opening_id,
        coalesce(
            set_by_opening.setting_day,
            set_by_job.setting_day,
            case when install_checks.checked_on <= as_of then install_checks.checked_on end
        ) as setting_day
    from openings
    left join set_by_opening on set_by_opening.opening_id = openings.opening_id
    left join set_by_job on set_by_job.job_id = openings.job_id
    left join install_checks on install_checks.opening_id = openings.opening_id
)
select * from final_step;
