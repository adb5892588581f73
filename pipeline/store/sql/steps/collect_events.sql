-- one row per source row of KIND that any batch but the withdrawn one brought, with its values as read; from all that is kept
create or replace temp table handed_on as
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
final_step as (
    select
        with_ties.* replace (
            coalesce(heirs.batch_id, _batch_id) as _batch_id, coalesce(heirs.heir_id, _file_id) as _file_id
        ),
        heirs.heir_id is not null as is_handed_on
    from with_ties
    left join heirs on heirs.file_id = with_ties._file_id
    where heirs.heir_id is not null or with_ties._batch_id <> $withdrawn
)
select * from final_step;

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

create or replace temp table at_odds as
with handed_on_keys as (
    select distinct _key, _batch_id from handed_on where is_handed_on
    union
    select _key, _batch_id from UNUSABLE where _file_id in (select heir_id from heirs)
),
every_place as (
    select _key, _batch_id, _file_id, _line, row(COLUMNS)::varchar as content
    from handed_on
    semi join handed_on_keys using (_key, _batch_id)
    union all
    select _key, _batch_id, _file_id, _line, null
    from UNUSABLE
    semi join handed_on_keys using (_key, _batch_id)
),
final_step as (
    select
        every_place._key, _batch_id,
        list({file: files.path || coalesce('[' || files.sheet || ']', ''), file_id: _file_id, line: _line}
            order by _file_id, _line) as places
    from every_place
    join files on files.file_id = every_place._file_id
    group by every_place._key, _batch_id
    having count(*) > 1 and (count(distinct content) > 1 or count(content) < count(*))
)
select * from final_step;

insert into UNUSABLE
select
    handed_on._key, handed_on._batch_id, handed_on._file_id, handed_on._line,
    'KEY_COLUMN', handed_on.KEY_COLUMN::varchar,
    'KEY_COLUMN ''' || handed_on._key || ''' stands also on ' || array_to_string([
        'line ' || place.line || case when place.file_id = handed_on._file_id then '' else ' of ' || place.file end
        for place in at_odds.places if place.file_id <> handed_on._file_id or place.line <> handed_on._line
    ], ', ') || ' with different values; keep the row that is right',
    to_json({AS_TEXT})::varchar,
    handed_on._quarantine_id
from handed_on
join at_odds using (_key, _batch_id);

create or replace temp table EVENTS as
select * exclude (is_handed_on)
from handed_on
anti join at_odds using (_key, _batch_id)
qualify row_number() over (partition by _key, _batch_id order by is_handed_on) = 1;

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
