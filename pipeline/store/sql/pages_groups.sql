-- one row per opening: what a reader of the pages can choose by; from openings, jobs
-- no site, no customer; finished openings first, in the order of warranty_openings
with final_step as (
    select
        openings.opening_id,
        case when jobs.completed_on <= $as_of then jobs.completed_on end as completed_on,
        coalesce(jobs.branch, 'not recorded') as branch,
        coalesce(jobs.crew, 'not recorded') as crew,
        coalesce(openings.wall_type, 'not recorded') as wall_type
    from openings
    join jobs on jobs.job_id = openings.job_id
)
select * from final_step order by completed_on nulls last, opening_id
