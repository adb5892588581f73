-- one row per finished job, of the newest $most, and cost category; USD; from jobs, openings, other_costs
-- a category counts for every finished job, with 0 where the job paid none
with finished as (
    select job_id
    from jobs
    where completed_on <= $as_of
      and job_id in (select job_id from openings)
    order by completed_on desc, job_id desc
    limit $most
),
kinds as (
    select
        job_id,
        case when count(distinct opening_work) = 1 then min(opening_work) else 'mixed' end as work,
        count(*) as openings
    from openings
    where job_id in (select job_id from finished)
    group by job_id
),
paid as (
    select job_id, category, sum(amount) as amount
    from other_costs
    where incurred_on is null or incurred_on <= $as_of
    group by job_id, category
),
categories as (
    select distinct category
    from paid
    where job_id in (select job_id from kinds)
),
per_job_and_category as (
    select
        kinds.job_id,
        categories.category,
        kinds.work,
        kinds.openings,
        coalesce(paid.amount, 0)::double as amount
    from kinds
    cross join categories
    left join paid on paid.job_id = kinds.job_id and paid.category = categories.category
)
select * from per_job_and_category
