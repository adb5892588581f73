select * from cost_of_materials(date '2025-12-31')
