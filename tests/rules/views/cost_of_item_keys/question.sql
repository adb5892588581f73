select * from cost_of_item_keys(date '2025-12-31')
