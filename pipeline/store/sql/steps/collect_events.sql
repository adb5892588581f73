-- one row per source row of KIND that any batch but the withdrawn one brought, with its values as read; from all that is kept
create or replace temp table EVENTS as
with versions as (
    select COLUMNS, _key, _batch_id, _file_id, _line from KIND
    union all
    select COLUMNS, _key, _batch_id, _file_id, _line from history.KIND
),
repeats as (
    select versions.* replace (
        sightings._batch_id as _batch_id, sightings._file_id as _file_id, sightings._line as _line
    )
    from sightings
    join versions on versions._key = sightings._key and versions._batch_id = sightings.seen_batch_id
    where sightings.kind = 'KIND'
),
every_row as (
    from versions
    union all
    from repeats
    union all
    select COLUMNS, _key, _batch_id, _file_id, _line from waiting.KIND
),
with_ties as (
    select every_row.*, corrections.quarantine_id as _quarantine_id
    from every_row
    left join corrections
        on corrections.kind = 'KIND'
        and corrections._key = every_row._key
        and corrections._batch_id = every_row._batch_id
),
handed_on as (
    select
        with_ties.* replace (
            coalesce(heirs.batch_id, _batch_id) as _batch_id, coalesce(heirs.heir_id, _file_id) as _file_id
        ),
        heirs.heir_id is not null as is_handed_on
    from with_ties
    left join heirs on heirs.file_id = with_ties._file_id
    where heirs.heir_id is not null or with_ties._batch_id <> $withdrawn
)
select * exclude (is_handed_on)
from handed_on
qualify row_number() over (partition by _key, _batch_id order by is_handed_on) = 1;

create or replace temp table UNUSABLE as
select
    quarantine._key,
    coalesce(heirs.batch_id, quarantine._batch_id) as _batch_id,
    coalesce(heirs.heir_id, quarantine._file_id) as _file_id,
    quarantine._line,
    quarantine.column_name,
    quarantine.value,
    quarantine.reason,
    quarantine.raw,
    corrections.quarantine_id as _quarantine_id
from quarantine
left join heirs on heirs.file_id = quarantine._file_id
left join corrections
    on corrections.kind = 'KIND'
    and corrections._key = quarantine._key
    and corrections._batch_id = quarantine._batch_id
where quarantine.kind = 'KIND'
    and quarantine.cause = 'values'
    and (heirs.heir_id is not null or quarantine._batch_id <> $withdrawn);

create or replace temp table TEXTS as
select quarantine._key, coalesce(heirs.batch_id, quarantine._batch_id) as _batch_id, quarantine.raw
from quarantine
left join heirs on heirs.file_id = quarantine._file_id
where quarantine.kind = 'KIND' and quarantine.cause <> 'values' and quarantine.raw is not null;

update drops
set _batch_id = heirs.batch_id
from quarantine
join heirs on heirs.file_id = quarantine._file_id
where quarantine.kind = 'KIND'
    and drops.quarantine_id = quarantine.quarantine_id
    and drops._batch_id = quarantine._batch_id;

delete from KIND;

delete from history.KIND;

delete from waiting.KIND;

delete from sightings where kind = 'KIND';

delete from quarantine where kind = 'KIND';

delete from corrections where kind = 'KIND'
