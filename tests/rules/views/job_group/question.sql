select
    job_id,
    job_group('month', completed_on, wall_type, crew, branch, opening_work, openings, job_id) as month,
    job_group('crew', completed_on, wall_type, crew, branch, opening_work, openings, job_id) as crew,
    job_group('job_size', completed_on, wall_type, crew, branch, opening_work, openings, job_id) as job_size,
    job_group('nothing', completed_on, wall_type, crew, branch, opening_work, openings, job_id) as every
from job_profit
