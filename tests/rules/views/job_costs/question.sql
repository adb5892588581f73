select * from job_costs(date '2025-03-10',
    [struct_pack(valid_from := date '1900-01-01', value := 45::decimal(14, 4))],
    [struct_pack(valid_from := date '1900-01-01', value := 10::decimal(14, 4))],
    [struct_pack(valid_from := date '1900-01-01', value := 24::decimal(14, 4))])
