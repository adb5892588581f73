-- one row per callback record; USD, exact; from visits_held, which stands in for callback_visits on this connection
-- the terms are those it was held with; another day than the one held is refused
create or replace temp macro callback_visits(as_of, standard, warranty_setting) as table
with final_step as (
    select * exclude (held_as_of)
    from visits_held
    where case
        when held_as_of = cast(as_of as date) then true
        else error('callback visits are held for another day than ' || cast(as_of as varchar))
    end
)
select * from final_step
