-- one row per crew, of completed jobs; hours, USD, exact; for any reader of the book; from job_profit
create or replace view profit_by_crew as
with final_step as (
    select
        crew as crew,
        count(*) as jobs,
        sum(revenue) as revenue,
        sum(actual_hours) as actual_hours,
        sum(labour_cost) as labour_cost,
        sum(material_cost) as material_cost,
        sum(other_cost) as other_cost,
        sum(gross_profit) as gross_profit,
        sum(overhead) as overhead,
        sum(job_profit) as job_profit,
        sum(callback_cost) as callback_cost,
        sum(profit_after_callbacks) as profit_after_callbacks
    from job_profit
    where status = 'completed'
    group by all
    order by crew
)
select * from final_step;
