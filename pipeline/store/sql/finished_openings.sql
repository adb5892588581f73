-- one row; count of openings of jobs completed by the as-of date; from openings, jobs
with finished as (
    select count(*) as openings
    from openings
    join jobs on jobs.job_id = openings.job_id
    where jobs.completed_on <= $as_of
)
select * from finished
