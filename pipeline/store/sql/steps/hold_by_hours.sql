-- one row per candidate of a worker and day whose hours, with those that stay in the book, are over the limit; from candidates, labour
insert into held
with going_in as (
    select candidates.*
    from candidates
    anti join held on held._key = candidates._key
    where candidates.worker_id is not null
),
new_hours as (
    select worker_id, worked_on, sum(hours) as hours_sum
    from going_in
    group by worker_id, worked_on
),
book_hours as (
    select labour.worker_id, labour.worked_on, sum(labour.hours) as hours_sum
    from labour
    semi join new_hours on new_hours.worker_id = labour.worker_id and new_hours.worked_on = labour.worked_on
    group by labour.worker_id, labour.worked_on
),
doubtful as (
    select new_hours.*
    from new_hours
    left join book_hours using (worker_id, worked_on)
    where new_hours.hours_sum + coalesce(book_hours.hours_sum, 0) > $hours_in_a_day
),
staying_hours as (
    select labour.worker_id, labour.worked_on, sum(labour.hours) as hours_sum
    from labour
    semi join doubtful on doubtful.worker_id = labour.worker_id and doubtful.worked_on = labour.worked_on
    anti join going_in on going_in._key = labour._key
    group by labour.worker_id, labour.worked_on
),
too_long as (
    select
        doubtful.worker_id, doubtful.worked_on, doubtful.hours_sum,
        coalesce(staying_hours.hours_sum, 0) as staying_sum
    from doubtful
    left join staying_hours using (worker_id, worked_on)
    where doubtful.hours_sum + coalesce(staying_hours.hours_sum, 0) > $hours_in_a_day
)
select
    going_in._key, going_in.waited, $place, 'hours', going_in.hours::double::varchar,
    'worker ''' || going_in.worker_id || ''' has ' || too_long.hours_sum::double || ' hours on ' || going_in.worked_on
        || ' in this batch and ' || too_long.staying_sum::double || ' in the book; a day has at most '
        || $hours_in_a_day || '; correct the hours or the date and ingest the rows again',
    'hours'
from going_in
join too_long using (worker_id, worked_on)
