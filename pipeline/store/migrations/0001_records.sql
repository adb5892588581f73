-- The tables of the book: current rows of the ten record kinds, one per key, with where each row came from.
-- _key names a record: its id, else _own_key (the columns it is known by); kept as a formula so that no id is stored twice.
-- Money is USD as exact decimals, hours and quantities exact decimals; lengths in, temperatures °F, torque lbft.

create table jobs (
    job_id varchar,
    branch varchar,
    site varchar,
    crew varchar,
    quoted_on date,
    started_on date,
    completed_on date,
    contract_price decimal(14, 4),
    change_orders decimal(14, 4),
    change_order_hours decimal(10, 4),
    change_order_cost decimal(14, 4),
    quoted_labour_hours decimal(10, 4),
    quoted_cost decimal(14, 4),
    weather_station varchar,
    warranty_months integer,
    _own_key varchar,
    _key varchar generated always as (coalesce(job_id, _own_key)) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

create table openings (
    opening_id varchar,
    job_id varchar,
    wall_type varchar,
    wall_thickness_in double,
    opening_work varchar,
    rough_width_in double,
    rough_height_in double,
    existing_width_in double,
    existing_height_in double,
    depth_below_grade_in double,
    soil varchar,
    dig_method varchar,
    reinforced boolean,
    well_type varchar,
    well_width_in double,
    well_projection_in double,
    well_depth_in double,
    drain varchar,
    clear_width_in double,
    clear_height_in double,
    sill_above_floor_in double,
    sill_below_grade_in double,
    window_spec varchar,
    well_spec varchar,
    _own_key varchar,
    _key varchar generated always as (coalesce(opening_id, _own_key)) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

create table labour (
    entry_id varchar,
    job_id varchar,
    opening_id varchar,
    worked_on date,
    worker_id varchar,
    phase varchar,
    hours decimal(10, 4),
    hourly_cost decimal(14, 4),
    _own_key varchar,
    _key varchar generated always as (coalesce(entry_id, _own_key)) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

create table materials (
    line_id varchar,
    job_id varchar,
    opening_id varchar,
    item varchar,
    spec varchar,
    quantity decimal(14, 4),
    unit varchar,
    unit_cost decimal(14, 4),
    bought_on date,
    _own_key varchar,
    _key varchar generated always as (coalesce(line_id, _own_key)) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

create table other_costs (
    line_id varchar,
    job_id varchar,
    category varchar,
    amount decimal(14, 4),
    incurred_on date,
    _own_key varchar,
    _key varchar generated always as (coalesce(line_id, _own_key)) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

create table install_checks (
    opening_id varchar,
    checked_on date,
    installer varchar,
    substrate_temp_f double,
    substrate_wet boolean,
    high_spots_removed boolean,
    gasket_gap_in double,
    squeeze_out varchar,
    anchor_count integer,
    anchor_torque_max_lbft double,
    anchor_torque_min_lbft double,
    frame_bow_in double,
    diagonal_difference_in double,
    plumb_error_in double,
    reveal_min_in double,
    reveal_max_in double,
    head_bearing varchar,
    foam_complete boolean,
    grout_band boolean,
    drain_flow_ok boolean,
    _own_key varchar,
    _key varchar generated always as (coalesce(opening_id, _own_key)) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

create table weather (
    station_id varchar,
    observed_on date,
    temp_min_f double,
    temp_max_f double,
    precipitation_in double,
    _own_key varchar,
    _key varchar generated always as (_own_key) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

create table callbacks (
    callback_id varchar,
    opening_id varchar,
    reported_on date,
    complaint varchar,
    cause_found varchar,
    visited_on date,
    visited_by_crew varchar,
    work_done varchar,
    fixed boolean,
    closed_on date,
    labour_hours decimal(10, 4),
    labour_cost decimal(14, 4),
    material_cost decimal(14, 4),
    recovered decimal(14, 4),
    duplicate_of varchar,
    warranty boolean,
    _own_key varchar,
    _key varchar generated always as (coalesce(callback_id, _own_key)) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

create table prices (
    item varchar,
    spec varchar,
    effective_on date,
    unit varchar,
    pack_size decimal(14, 4),
    unit_cost decimal(14, 4),
    _own_key varchar,
    _key varchar generated always as (_own_key) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

create table quotes (
    quote_id varchar,
    quoted_on date,
    branch varchar,
    job_id varchar,
    openings integer,
    predicted_hours decimal(10, 4),
    quoted_cost decimal(14, 4),
    price decimal(14, 4),
    outcome varchar,
    decided_on date,
    _own_key varchar,
    _key varchar generated always as (coalesce(quote_id, _own_key)) virtual,
    _batch_id integer,
    _file_id integer,
    _line bigint
);

-- one row per fitted part and as-of date; the newest fitted_at stands
create table models (
    part varchar,
    as_of date,
    fitted_at timestamp,
    body varchar
);

-- one row per ingest; every source row is in exactly one place
create table batches (
    batch_id integer not null,
    taken_in_at timestamp not null,
    received_on date not null,
    rows bigint not null,
    accepted bigint not null,
    updated bigint not null,
    unchanged bigint not null,
    quarantined bigint not null,
    released bigint not null,
    withdrawn_at timestamp,
    constraint every_row_is_in_one_place check (rows = accepted + updated + unchanged + quarantined)
);

-- one row per file, sheet and kind of a batch; same_content_as = the file of an earlier batch that brought the same content
create table files (
    file_id integer not null,
    batch_id integer not null,
    path varchar not null,
    sheet varchar,
    kind varchar not null,
    content_hash varchar not null,
    rows bigint not null,
    accepted bigint not null,
    updated bigint not null,
    unchanged bigint not null,
    quarantined bigint not null,
    not_used bigint not null,
    readings varchar not null,
    same_content_as integer,
    constraint every_row_is_in_one_place check (rows = accepted + updated + unchanged + quarantined)
);

-- one row per warning about a row that was kept; line is null when it is about the whole file
create table warnings (
    file_id integer not null,
    line bigint,
    column_name varchar,
    value varchar,
    sentence varchar not null
);

-- one row per source row that ever waited. state: waits, released, replaced, corrected, dropped
-- cause: values (a cell cannot be used), link (a record it names is missing), hours (over 24 a day with the book)
create table quarantine (
    quarantine_id varchar not null,
    kind varchar not null,
    _key varchar not null,
    _batch_id integer not null,
    _file_id integer not null,
    _line bigint not null,
    column_name varchar,
    value varchar,
    reason varchar not null,
    raw varchar,
    cause varchar not null,
    state varchar not null,
    closed_by_batch_id integer
);

-- one row per dropped entry; after_batch_id = the newest batch when it was dropped
create table drops (
    quarantine_id varchar not null,
    _batch_id integer not null,
    reason varchar not null,
    dropped_at timestamp not null,
    after_batch_id integer not null
);

-- one row per source row that was already so in the book: seen_batch_id says which version it repeats
create table sightings (
    kind varchar not null,
    _key varchar not null,
    _batch_id integer not null,
    _file_id integer not null,
    _line bigint not null,
    seen_batch_id integer not null
);

-- one row per source row that carried a quarantine_id back
create table corrections (
    kind varchar not null,
    _key varchar not null,
    _batch_id integer not null,
    quarantine_id varchar not null
);

-- older versions of records, with the batch that replaced them
create schema history;
-- rows that are readable but wait: for a record they name, or for hours that do not fit into a day
create schema waiting;

create table history.jobs as select * exclude (_own_key), cast(null as integer) as _until_batch_id from jobs limit 0;
create table history.openings as select * exclude (_own_key), cast(null as integer) as _until_batch_id from openings limit 0;
create table history.labour as select * exclude (_own_key), cast(null as integer) as _until_batch_id from labour limit 0;
create table history.materials as select * exclude (_own_key), cast(null as integer) as _until_batch_id from materials limit 0;
create table history.other_costs as select * exclude (_own_key), cast(null as integer) as _until_batch_id from other_costs limit 0;
create table history.install_checks as select * exclude (_own_key), cast(null as integer) as _until_batch_id from install_checks limit 0;
create table history.weather as select * exclude (_own_key), cast(null as integer) as _until_batch_id from weather limit 0;
create table history.callbacks as select * exclude (_own_key), cast(null as integer) as _until_batch_id from callbacks limit 0;
create table history.prices as select * exclude (_own_key), cast(null as integer) as _until_batch_id from prices limit 0;
create table history.quotes as select * exclude (_own_key), cast(null as integer) as _until_batch_id from quotes limit 0;
create table waiting.jobs as select * exclude (_own_key) from jobs limit 0;
create table waiting.openings as select * exclude (_own_key) from openings limit 0;
create table waiting.labour as select * exclude (_own_key) from labour limit 0;
create table waiting.materials as select * exclude (_own_key) from materials limit 0;
create table waiting.other_costs as select * exclude (_own_key) from other_costs limit 0;
create table waiting.install_checks as select * exclude (_own_key) from install_checks limit 0;
create table waiting.weather as select * exclude (_own_key) from weather limit 0;
create table waiting.callbacks as select * exclude (_own_key) from callbacks limit 0;
create table waiting.prices as select * exclude (_own_key) from prices limit 0;
create table waiting.quotes as select * exclude (_own_key) from quotes limit 0;

-- the name of a quarantine entry: the same file content and line always have the same one, in any book
create macro quarantine_name(content_hash, sheet, kind, line, key) as
    'q' || substr(md5(concat_ws('|', content_hash, coalesce(sheet, ''), kind, line, key)), 1, 12);
