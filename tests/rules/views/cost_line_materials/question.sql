select * from cost_line_materials(date '2025-12-31')
