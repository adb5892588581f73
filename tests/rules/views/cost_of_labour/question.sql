select * from cost_of_labour(date '2025-12-31',
    [struct_pack(valid_from := date '1900-01-01', value := 45::decimal(14, 4))],
    [struct_pack(valid_from := date '1900-01-01', value := 10::decimal(14, 4))])
