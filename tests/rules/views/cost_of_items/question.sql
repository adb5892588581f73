select * from cost_of_items(date '2025-12-31')
