-- one row per wall type, mixed when a job has several, of completed jobs; hours, USD, exact; for any reader of the book; from job_profit_by_group
create or replace view profit_by_wall_type as
with final_step as (
    select group_name as wall_type, * exclude (group_name)
    from job_profit_by_group('wall_type')
)
select * from final_step;
