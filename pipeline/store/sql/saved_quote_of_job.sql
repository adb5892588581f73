-- one row or none; the newest saved quote of one job and no other, its cost parts in USD; from saved_quotes, quotes
with of_job as (
    select saved_quotes.saved_at, json_extract(saved_quotes.body, '$.total') as total
    from saved_quotes
    where saved_quotes.quote_id in (select quotes.quote_id from quotes where quotes.job_id = $job_id)
        or json_extract_string(saved_quotes.body, '$.openings[*].job_id') = [$job_id]
        or (
            json_array_length(saved_quotes.body, '$.jobs') = 1
            and json_extract_string(saved_quotes.body, '$.jobs[0].job_id') = $job_id
        )
),
final_step as (
    select
        cast(json_extract_string(total, '$.labour_cost') as decimal(14, 4)) as labour_cost,
        cast(json_extract_string(total, '$.material_cost') as decimal(14, 4)) as material_cost,
        cast(json_extract_string(total, '$.other_cost') as decimal(14, 4)) as other_cost,
        cast(json_extract_string(total, '$.overhead') as decimal(14, 4)) as overhead,
        cast(json_extract_string(total, '$.callback_allowance') as decimal(14, 4)) as callback_allowance
    from of_job
    order by saved_at desc
    limit 1
)
select * from final_step
