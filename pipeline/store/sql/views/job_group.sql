-- a word, the group a job falls in; from one row of job_costs
--
-- grouped_by: month (of completion), wall_type, crew, branch, opening_work, job_size, job; anything else is one group
create or replace macro job_group(grouped_by, completed_on, wall_type, crew, branch, opening_work, openings, job_id) as
case grouped_by
    when 'month' then strftime(completed_on, '%Y-%m')
    when 'wall_type' then wall_type
    when 'crew' then crew
    when 'branch' then branch
    when 'opening_work' then opening_work
    when 'job_size' then
        case when openings >= 3 then '3 or more openings' when openings = 1 then '1 opening' else openings || ' openings' end
    when 'job' then job_id
    else 'all'
end;
