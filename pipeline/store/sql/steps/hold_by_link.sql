-- one row per candidate whose COLUMN names a record that is not in the book; from candidates, PARENT
--
-- alike: a record in the book whose name differs only in leading zeros or capitals, which is what is often meant
insert into held
with named as (
    select distinct COLUMN
    from candidates
    where COLUMN is not null
),
missing as (
    from named
    anti join PARENT on PARENT.PARENT_KEY = named.COLUMN
),
alike as (
    select missing.COLUMN, min(PARENT.PARENT_KEY) as name
    from missing
    join PARENT on ltrim(lower(PARENT.PARENT_KEY), '0') = ltrim(lower(missing.COLUMN), '0')
    group by missing.COLUMN
)
select
    candidates._key, candidates.waited, $place, 'COLUMN', candidates.COLUMN,
    'COLUMN is ''' || candidates.COLUMN || '''; that WORD is not in the book yet; this row goes in by itself when it arrives'
        || coalesce('; in the book is ''' || alike.name || ''': if that is meant, correct this row', ''),
    'link'
from candidates
join missing on missing.COLUMN = candidates.COLUMN
left join alike on alike.COLUMN = candidates.COLUMN
