-- one row per quote won or lost; price over predicted cost; from quotes
with decided as (
    select
        (price / quoted_cost)::double as ratio,
        outcome = 'won' as won
    from quotes
    where outcome in ('won', 'lost')
      and quoted_cost > 0
      and quoted_on <= $as_of
      and coalesce(decided_on, quoted_on) <= $as_of
)
select * from decided
