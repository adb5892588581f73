-- one row per month of completion, of completed jobs; hours, USD, exact; for any reader of the book; from job_profit_by_group
create or replace view profit_by_month as
with final_step as (
    select group_name as month, * exclude (group_name)
    from job_profit_by_group('month')
)
select * from final_step;
