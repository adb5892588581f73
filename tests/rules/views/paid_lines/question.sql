select * from paid_lines()
