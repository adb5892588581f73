-- one row per job completed by as_of; warranty in months; from jobs
-- $as_of date; $warranty list of struct(valid_from, value): months where the job names none, by the day it was completed
with terms as (
    select valid_from, value
    from (select unnest(cast($warranty as struct(valid_from date, value integer)[]), recursive := true))
),
finished as (
    select job_id, crew, branch, completed_on, warranty_months
    from jobs
    where completed_on <= $as_of
),
final_step as (
    select
        finished.job_id,
        finished.crew,
        finished.branch,
        finished.completed_on,
        coalesce(
            finished.warranty_months, terms.value, (select arg_min(value, valid_from) from terms)
        )::bigint as warranty_months
    from finished
    asof left join terms on finished.completed_on >= terms.valid_from
)
select * from final_step order by job_id
