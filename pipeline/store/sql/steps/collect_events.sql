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
    where sightings.kind = 'KIND' and sightings.seen_batch_id <> sightings._batch_id
),
first_of_their_key as (
    from versions
    union all
    from repeats
    union all
    select COLUMNS, _key, _batch_id, _file_id, _line from waiting.KIND
),
copies as (
    select first_of_their_key.* replace (sightings._file_id as _file_id, sightings._line as _line)
    from sightings
    join first_of_their_key
        on first_of_their_key._key = sightings._key and first_of_their_key._batch_id = sightings._batch_id
    where sightings.kind = 'KIND' and sightings.seen_batch_id = sightings._batch_id
),
kept_out_by_twins as (
    select FROM_TEXT, _key, _batch_id, _file_id, _line, raw
    from quarantine
    where kind = 'KIND' and understood is not null
),
every_row as (
    select *, null as raw, false as has_twin from first_of_their_key
    union all
    select *, null, false from copies
    union all
    select *, true from kept_out_by_twins
),
with_ties as (
    select every_row.*, corrections.quarantine_id as _quarantine_id
    from every_row
    left join corrections
        on corrections.kind = 'KIND'
        and corrections._key = every_row._key
        and corrections._batch_id = every_row._batch_id
        and coalesce(corrections._file_id, every_row._file_id) = every_row._file_id
        and coalesce(corrections._line, every_row._line) = every_row._line
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
with by_themselves as (
    select
        quarantine._key,
        coalesce(heirs.batch_id, quarantine._batch_id) as _batch_id,
        coalesce(heirs.heir_id, quarantine._file_id) as _file_id,
        quarantine._line,
        quarantine.column_name,
        quarantine.value,
        coalesce(quarantine.alone, quarantine.reason) as reason,
        quarantine.raw,
        coalesce(quarantine.alone, quarantine.reason) as alone,
        cast(null as varchar) as understood,
        corrections.quarantine_id as _quarantine_id
    from quarantine
    left join heirs on heirs.file_id = quarantine._file_id
    left join corrections
        on corrections.kind = 'KIND'
        and corrections._key = quarantine._key
        and corrections._batch_id = quarantine._batch_id
        and coalesce(corrections._file_id, quarantine._file_id) = quarantine._file_id
        and coalesce(corrections._line, quarantine._line) = quarantine._line
    where quarantine.kind = 'KIND'
        and quarantine.cause = 'values'
        and quarantine.understood is null
        and (heirs.heir_id is not null or quarantine._batch_id <> $withdrawn)
),
final_step as (
    select by_themselves.* replace (
        case
            when starts_with(_key, 'row ' || md5(raw) || ' ') then 'row ' || md5(raw) || ' '
                || row_number() over (partition by _batch_id, starts_with(_key, 'row '), raw order by _file_id, _line)
            else _key
        end as _key
    )
    from by_themselves
)
select * from final_step
