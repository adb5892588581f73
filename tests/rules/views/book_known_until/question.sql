select
    book_newest_day() as newest,
    book_known_until(date '2025-07-02') as the_day_before,
    book_known_until(date '2025-07-03') as on_it,
    book_known_until(date '2026-01-01') as after_it
