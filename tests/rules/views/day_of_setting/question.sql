select * from day_of_setting(date '2025-10-01')
