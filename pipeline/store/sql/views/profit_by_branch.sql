-- one row per branch, of completed jobs; hours, USD, exact; for any reader of the book; from job_profit_by_group
create or replace view profit_by_branch as
with final_step as (
    select group_name as branch, * exclude (group_name)
    from job_profit_by_group('branch')
)
select * from final_step;
