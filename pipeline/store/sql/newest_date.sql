-- one row; date; from labour, jobs, callbacks
select book_newest_day() as newest
