select * from job_profit_by_group('opening_work')
