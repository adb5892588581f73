-- one day; until when the outcome of a callback may be dated to be known on as_of; from labour, jobs, callbacks
--
-- On the newest day of the book, and after it, all that is in the book is known: no end. On an earlier day what was learned
-- later is not known yet.
create or replace macro book_newest_day() as (
    select greatest(
        (select max(worked_on) from labour),
        (select max(completed_on) from jobs),
        (select max(reported_on) from callbacks)
    )
);
create or replace macro book_known_until(as_of) as (
    case when cast(as_of as date) < book_newest_day() then cast(as_of as date) else date '9999-12-31' end
);
