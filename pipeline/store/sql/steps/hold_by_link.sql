-- one row per candidate whose COLUMN names a record that is not in the book; from candidates, PARENT
insert into held
select
    candidates._key, candidates.waited, $place, 'COLUMN', candidates.COLUMN,
    'COLUMN is ''' || candidates.COLUMN || '''; that WORD is not in the book yet; this row goes in by itself when it arrives',
    'link'
from candidates
anti join PARENT on PARENT.PARENT_KEY = candidates.COLUMN
where candidates.COLUMN is not null
