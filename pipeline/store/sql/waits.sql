-- one row when any row of $kind waits, for whatever cause; from quarantine
with final_step as (
    select 1 as waits
    from quarantine
    where kind = $kind and state = 'waits'
    limit 1
)
select * from final_step
