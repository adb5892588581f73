select * from cost_of_callbacks(date '2025-12-31',
    [struct_pack(valid_from := date '1900-01-01', value := 45::decimal(14, 4))],
    [struct_pack(valid_from := date '1900-01-01', value := 24::decimal(14, 4))])
