-- one row per file of the batch: its rows that went in, where all were new; from candidates
with final_step as (
    select _file_id, 'new' as place, count(*) as row_count
    from candidates
    group by _file_id
)
select * from final_step
