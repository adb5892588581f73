-- one row per check card dated by as_of; in, lbft, °F; from install_checks, openings, jobs
-- $as_of date
with final_step as (
    select
        install_checks.* exclude (_key, _own_key, _batch_id, _file_id, _line),
        openings.* exclude (opening_id, _key, _own_key, _batch_id, _file_id, _line),
        jobs.crew
    from install_checks
    join openings on openings.opening_id = install_checks.opening_id
    join jobs on jobs.job_id = openings.job_id
    where install_checks.checked_on <= $as_of
)
select * from final_step order by opening_id
