-- The tables of the book: current rows of the ten record kinds, one per key, with where each row came from.
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
    _key varchar,
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
    _key varchar,
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
    _key varchar,
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
    _key varchar,
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
    _key varchar,
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
    _key varchar,
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
    _key varchar,
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
    _key varchar,
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
    _key varchar,
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
    _key varchar,
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
