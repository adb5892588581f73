-- Quotes kept whole, so that what came of them can be held against what was said.

-- one row per saved quote; body is the answer as JSON, exactly as it was given
create table saved_quotes (
    quote_id varchar primary key,
    saved_at timestamp,
    as_of date,
    body varchar
);
