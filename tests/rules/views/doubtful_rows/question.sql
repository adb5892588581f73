select * from doubtful_rows()
