-- one row per callback record reported by as_of, held for the questions that follow on this connection; USD, exact;
-- from callback_visits
create or replace temp table visits_held as
with final_step as (
    select cast($as_of as date) as held_as_of, * from callback_visits($as_of, $standard, $warranty)
)
select * from final_step
