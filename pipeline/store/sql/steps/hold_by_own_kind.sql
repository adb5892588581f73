-- one row per candidate whose COLUMN names a row of its own kind that is neither in the book nor going in now; repeated until none
insert into held
with going_in as (
    select candidates.PARENT_KEY
    from candidates
    anti join held on held._key = candidates._key
),
unheld as (
    select candidates.*
    from candidates
    anti join held
        on held._key = candidates._key and held.column_name = 'COLUMN'
)
select
    unheld._key, unheld.waited, $place, 'COLUMN', unheld.COLUMN,
    'COLUMN is ''' || unheld.COLUMN || '''; that WORD is not in the book yet; this row goes in by itself when it arrives',
    'link'
from unheld
anti join going_in on going_in.PARENT_KEY = unheld.COLUMN
anti join KIND on KIND.PARENT_KEY = unheld.COLUMN
where unheld.COLUMN is not null
