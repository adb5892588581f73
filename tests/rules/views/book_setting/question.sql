select book_setting('overhead_per_labour_hour', 0)[1].value as overhead, book_setting('target_margin', 0.35)[1].value as margin
