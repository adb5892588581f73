-- one row per warning of a batch that stands: a row that was kept although it may be wrong, or a whole file (row null); from row_warnings
with final_step as (
    select kind, file, row, "column", value, warning as text, batch_id
    from row_warnings
    order by batch_id, file, row nulls first, "column", value
)
select * from final_step
