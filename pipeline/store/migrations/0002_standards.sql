-- What costs are measured against: the settings in force, and the quantities a job should have used.

-- one row per firm setting and first day it holds; refreshed by every command that writes; read by the views for people
create table firm_settings (
    name varchar,
    valid_from date,
    value decimal(14, 4)
);

-- one row per job, item and basis: what the job should use, in units of `unit`
-- basis 'quote' = the saved quote of a won job; 'takeoff' = take-off x usage factor of the last fit
create table standard_quantities (
    job_id varchar,
    item varchar,
    quantity decimal(14, 4),
    unit varchar,
    basis varchar
);
