-- one row per job and phase, null = hours not split; hours, USD, exact; for any reader of the book; from cost_line_labour
create or replace view labour_by_phase as
with final_step as (
    select job_id, phase, sum(hours) as hours, sum(labour_cost) as labour_cost
    from cost_line_labour(
        date '9999-12-31',
        book_setting('standard_hourly_cost', null),
        book_setting('overhead_per_labour_hour', 0)
    )
    group by all
)
select * from final_step;
