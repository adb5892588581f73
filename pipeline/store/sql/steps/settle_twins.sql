-- what the rows of KIND are beside those of their batch with the same key: at odds, copies, or the one that goes in; from handed_on, UNUSABLE
create or replace temp table at_odds as
with keys_in_doubt as (
    select distinct _key, _batch_id from handed_on where is_handed_on or has_twin
    union
    select _key, _batch_id from UNUSABLE where _file_id in (select heir_id from heirs)
),
every_place as (
    select _key, _batch_id, _file_id, _line, row(COLUMNS)::varchar as content
    from handed_on
    semi join keys_in_doubt using (_key, _batch_id)
    union all
    select _key, _batch_id, _file_id, _line, null
    from UNUSABLE
    semi join keys_in_doubt using (_key, _batch_id)
),
final_step as (
    select
        every_place._key, _batch_id,
        list({file: files.path || coalesce('[' || files.sheet || ']', ''), file_id: _file_id, line: _line}
            order by _file_id, _line) as places
    from every_place
    join files on files.file_id = every_place._file_id
    group by every_place._key, _batch_id
    having count(content) > 0 and count(*) > 1 and (count(distinct content) > 1 or count(content) < count(*))
)
select * from final_step;

create or replace temp macro other_places(places, own_file_id, own_line) as (
    select ' stands also on ' || array_to_string(elsewhere[:5], ', ')
        || case when len(elsewhere) > 5 then ' and ' || len(elsewhere) - 5 || ' more' else '' end
        || ' with different values; keep the row that is right'
    from (select [
        'line ' || place.line || case when place.file_id = own_file_id then '' else ' of ' || place.file end
        for place in places if place.file_id <> own_file_id or place.line <> own_line
    ] as elsewhere)
);

update UNUSABLE
set reason = UNUSABLE.reason || '; the same record' || other_places(at_odds.places, UNUSABLE._file_id, UNUSABLE._line)
from at_odds
where at_odds._key = UNUSABLE._key and at_odds._batch_id = UNUSABLE._batch_id;

insert into UNUSABLE
select
    handed_on._key, handed_on._batch_id, handed_on._file_id, handed_on._line,
    'KEY_COLUMN', handed_on.KEY_COLUMN::varchar,
    NAMED || other_places(at_odds.places, handed_on._file_id, handed_on._line),
    coalesce(handed_on.raw, to_json({AS_TEXT})::varchar),
    null,
    to_json({AS_TEXT})::varchar,
    handed_on._quarantine_id
from handed_on
join at_odds using (_key, _batch_id);

create or replace temp table first_places as
select _key, _batch_id, min({file_id: _file_id, line: _line}) as place
from handed_on
anti join at_odds using (_key, _batch_id)
group by _key, _batch_id;

create or replace temp table EVENTS as
select handed_on.* exclude (is_handed_on, has_twin, raw)
from handed_on
join first_places using (_key, _batch_id)
where first_places.place = {file_id: _file_id, line: _line};

create or replace temp table TEXTS as
select quarantine._key, coalesce(heirs.batch_id, quarantine._batch_id) as _batch_id, quarantine.raw
from quarantine
left join heirs on heirs.file_id = quarantine._file_id
semi join EVENTS
    on EVENTS._key = quarantine._key
    and EVENTS._batch_id = coalesce(heirs.batch_id, quarantine._batch_id)
    and EVENTS._file_id = coalesce(heirs.heir_id, quarantine._file_id)
    and EVENTS._line = quarantine._line
where quarantine.kind = 'KIND'
    and (quarantine.cause <> 'values' or quarantine.understood is not null)
    and quarantine.raw is not null
