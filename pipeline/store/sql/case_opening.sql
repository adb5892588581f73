-- one row per opening asked for, with its job and the end of its warranty; in; from openings, jobs
-- as_of: DATE; a job completed later is still open
-- warranty: LIST of STRUCT(valid_from DATE, value), months where the job names none
with warranty_terms as (
    select valid_from, cast(value as double) as months
    from (select unnest(cast($warranty as struct(valid_from date, value decimal(14, 4))[]), recursive := true))
),
wanted as (
    select
        openings.* exclude (_key, _own_key, _batch_id, _file_id, _line),
        jobs.branch,
        jobs.crew,
        jobs.quoted_on,
        jobs.started_on,
        case when jobs.completed_on <= $as_of then jobs.completed_on end as completed_on,
        jobs.weather_station,
        cast(jobs.warranty_months as double) as own_months
    from openings
    left join jobs on jobs.job_id = openings.job_id
    where openings.opening_id in (select unnest(cast($opening_ids as varchar[])))
),
timed as (
    select
        wanted.* exclude (own_months),
        coalesce(
            wanted.own_months,
            warranty_terms.months,
            (select arg_min(months, valid_from) from warranty_terms)
        ) as warranty_months
    from wanted
    asof left join warranty_terms on wanted.completed_on >= warranty_terms.valid_from
),
final_step as (
    select
        *,
        completed_on + cast(floor(warranty_months * 30.4375) as integer) as warranty_ends_on
    from timed
)
select * from final_step
