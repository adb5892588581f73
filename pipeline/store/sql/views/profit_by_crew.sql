-- one row per crew, of completed jobs; hours, USD, exact; for any reader of the book; from job_profit_by_group
create or replace view profit_by_crew as
with final_step as (
    select group_name as crew, * exclude (group_name)
    from job_profit_by_group('crew')
)
select * from final_step;
