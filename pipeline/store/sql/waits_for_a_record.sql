-- one row when any row of $kind waits for a record; from quarantine
with final_step as (
    select 1 as waits
    from quarantine
    where kind = $kind and state = 'waits' and cause = 'link'
    limit 1
)
select * from final_step
