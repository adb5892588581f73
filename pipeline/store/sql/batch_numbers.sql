-- one row per batch, oldest first, withdrawn ones too; from batches
with final_step as (
    select batch_id from batches order by batch_id
)
select * from final_step
