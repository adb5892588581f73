-- one row per candidate whose COLUMN names a record that is not in the book; from candidates, PARENT
insert into held
with named as (
    select distinct COLUMN
    from candidates
    where COLUMN is not null
),
missing as (
    from named
    anti join PARENT on PARENT.PARENT_KEY = named.COLUMN
)
select
    candidates._key, candidates.waited, $place, 'COLUMN', candidates.COLUMN,
    'COLUMN is ''' || candidates.COLUMN || '''; that WORD is not in the book yet; this row goes in by itself when it arrives',
    'link'
from candidates
where candidates.COLUMN in (select COLUMN from missing)
