-- one row per callback record; USD, exact; for any reader of the book; from callback_visits
-- counts = ours to pay and not a duplicate; net_cost null = not costed yet
create or replace view warranty_callbacks as
with final_step as (
    select callback_id, visit_id, opening_id, job_id, complaint, reported_on, counts, why_not, in_warranty, net_cost
    from callback_visits(
        date '9999-12-31',
        book_setting('standard_hourly_cost', null),
        book_setting('warranty_months', 24)
    )
)
select * from final_step;
