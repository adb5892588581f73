-- one row per worker and day whose hours may be over the limit: those of all candidates and of the book together; from candidates, labour
create or replace temp table days_in_doubt as
with new_hours as (
    select worker_id, worked_on, sum(hours) as hours_sum
    from candidates
    where worker_id is not null
    group by worker_id, worked_on
),
book_hours as (
    select labour.worker_id, labour.worked_on, sum(labour.hours) as hours_sum
    from labour
    semi join new_hours on new_hours.worker_id = labour.worker_id and new_hours.worked_on = labour.worked_on
    group by labour.worker_id, labour.worked_on
)
select new_hours.worker_id, new_hours.worked_on
from new_hours
left join book_hours using (worker_id, worked_on)
where new_hours.hours_sum + coalesce(book_hours.hours_sum, 0) > $hours_in_a_day
