-- one row per candidate of a worker and day whose hours, with those that stay in the book, are over the limit; from candidates, labour, days_in_doubt
insert into held
with going_in as (
    select candidates._key, candidates.waited, worker_id, worked_on, candidates.hours
    from candidates
    semi join days_in_doubt using (worker_id, worked_on)
    anti join held on held._key = candidates._key
),
new_hours as (
    select worker_id, worked_on, sum(hours) as hours_sum
    from going_in
    group by worker_id, worked_on
),
staying as (
    select labour.worker_id, labour.worked_on, labour.hours
    from labour
    semi join days_in_doubt using (worker_id, worked_on)
    anti join going_in on going_in._key = labour._key
),
staying_hours as (
    select worker_id, worked_on, sum(hours) as hours_sum
    from staying
    group by worker_id, worked_on
),
too_long as (
    select
        new_hours.worker_id, new_hours.worked_on, new_hours.hours_sum,
        coalesce(staying_hours.hours_sum, 0) as staying_sum
    from new_hours
    left join staying_hours using (worker_id, worked_on)
    where new_hours.hours_sum + coalesce(staying_hours.hours_sum, 0) > $hours_in_a_day
)
select
    going_in._key, going_in.waited, $place, 'hours', going_in.hours::double::varchar,
    'worker ' || going_in.worker_id || ' would have ' || format('{:g}', (too_long.hours_sum + too_long.staying_sum)::double)
        || ' hours on ' || going_in.worked_on
        || case
            when too_long.staying_sum = 0 then ', all in this batch'
            else ': ' || format('{:g}', too_long.hours_sum::double) || ' in this batch and ' || format('{:g}', too_long.staying_sum::double)
                || ' already in the book'
        end
        || '; a day has at most ' || $hours_in_a_day || '; correct the hours or the date and ingest the rows again',
    'hours'
from going_in
join too_long using (worker_id, worked_on)
