-- one row per callback record reported by as_of; USD; from callbacks, openings, jobs
--
-- The one list of callbacks that count. Margins, patterns, crews and reserve all read it.
-- as_of            DATE; records reported later are left out
-- standard         LIST of STRUCT(valid_from DATE, value): standard cost of a labour hour, for hours without a cost
-- warranty_setting LIST of STRUCT(valid_from DATE, value): months of warranty where the job names none
-- Neither list may be empty. A date before the first entry of a list takes the first entry.
--
-- One visit = records tied by duplicate_of, or of one opening and complaint reported at most 14 days after the one before.
-- visit_id is its leader: the first record not marked as a duplicate. The leader carries the dearest record's cost, the others 0.
-- Ours to pay: the last `warranty` value given in the visit; where none is given, no cause found names the customer's side:
-- customer, owner, tenant, sprinkler, or a window, sash, cover, door or gate left open (a left jamb with an open corner is ours).
-- in_warranty: first reported from completed_on to completed_on + months x 30.4375 days; null while the job is open.
-- net_cost is null while no record of the visit has hours or a cost.
-- outcome_known: a record visited or closed after `book_known_until(as_of)` has no cost and no finding yet; undated ones are known.
create or replace macro callback_visits(as_of, standard, warranty_setting) as table
with recursive standard_costs as (
    select valid_from, value
    from (select unnest(cast(standard as struct(valid_from date, value decimal(14, 4))[]), recursive := true))
),
warranty_terms as (
    select valid_from, value
    from (select unnest(cast(warranty_setting as struct(valid_from date, value integer)[]), recursive := true))
),
dated as (
    select *, coalesce(greatest(visited_on, closed_on) <= book_known_until(as_of), true) as outcome_known
    from callbacks
    where reported_on <= as_of
),
reported as (
    select
        dated.* replace (
            case when outcome_known then labour_hours end as labour_hours,
            case when outcome_known then labour_cost end as labour_cost,
            case when outcome_known then material_cost end as material_cost,
            case when outcome_known then recovered end as recovered
        ),
        coalesce(visited_on, reported_on) as worked_on,
        outcome_known and regexp_matches(
            lower(coalesce(cause_found, '')),
            '\b(customers?|(home)?owners?|tenants?|sprinklers?)\b'
                || '|\bleft\W+(the\W+|a\W+|its\W+)?(\w+\W+)?(windows?|sash(es)?|covers?|doors?|gates?)\W+(wide\W+|half\W+)?open\b'
                || '|\b(windows?|sash(es)?|covers?|doors?|gates?)\W+((was|were|had|been)\W+)*left\W+(wide\W+|half\W+)?open\b'
        ) as names_the_customer
    from dated
),
chained as (
    select
        *,
        coalesce(
            reported_on - lag(reported_on) over report_order > 14, true
        ) as starts_a_chain
    from reported
    window report_order as (partition by opening_id, complaint order by reported_on, callback_id)
),
numbered as (
    select
        *,
        sum(starts_a_chain::integer) over (
            partition by opening_id, complaint order by reported_on, callback_id rows unbounded preceding
        ) as chain_number
    from chained
),
chains as materialized (
    select
        *,
        first_value(callback_id) over (
            partition by opening_id, complaint, chain_number order by reported_on, callback_id
        ) as chain_id
    from numbered
),
marked as (
    select this.chain_id as from_chain, that.chain_id as to_chain
    from chains as this
    join chains as that on this.duplicate_of = that.callback_id
    where this.chain_id <> that.chain_id
),
ties as (
    select from_chain, to_chain from marked
    union
    select to_chain, from_chain from marked
),
reach as (
    select from_chain, to_chain from ties
    union
    select reach.from_chain, ties.to_chain from reach join ties on reach.to_chain = ties.from_chain
),
tied_groups as (
    select from_chain as chain_id, min(to_chain) as group_id from reach group by all
),
grouped as (
    select chains.*, coalesce(tied_groups.group_id, chains.chain_id) as group_id
    from chains
    left join tied_groups using (chain_id)
),
placed as (
    select
        grouped.*,
        openings.job_id,
        jobs.completed_on,
        jobs.warranty_months
    from grouped
    left join openings on openings.opening_id = grouped.opening_id
    left join jobs on jobs.job_id = openings.job_id
),
with_warranty as (
    select
        placed.*,
        coalesce(
            placed.warranty_months,
            warranty_terms.value,
            (select arg_min(value, valid_from) from warranty_terms)
        ) as months_of_warranty
    from placed
    asof left join warranty_terms on placed.completed_on >= warranty_terms.valid_from
),
with_standard as (
    select
        with_warranty.*,
        with_warranty.labour_cost is null and with_warranty.labour_hours is not null as priced_by_standard,
        coalesce(
            with_warranty.labour_cost,
            cast(with_warranty.labour_hours as decimal(28, 4))
                * coalesce(standard_costs.value, (select arg_min(value, valid_from) from standard_costs))
        ) as labour_usd
    from with_warranty
    asof left join standard_costs on with_warranty.worked_on >= standard_costs.valid_from
),
costed as (
    select
        *,
        case
            when labour_usd is not null or material_cost is not null
                then coalesce(labour_usd, 0) + coalesce(material_cost, 0)
        end as gross_usd
    from with_standard
),
ranked as (
    select
        *,
        row_number() over (
            partition by group_id order by (duplicate_of is not null), reported_on, callback_id
        ) as place_in_visit,
        row_number() over (
            partition by group_id order by gross_usd desc nulls last, coalesce(recovered, 0), reported_on, callback_id
        ) as place_by_cost
    from costed
),
visits as (
    select
        group_id,
        min(callback_id) filter (place_in_visit = 1) as visit_id,
        min(reported_on) as visit_reported_on,
        count(*) as records,
        coalesce(
            arg_max(warranty, (reported_on, callback_id)) filter (warranty is not null),
            not bool_or(names_the_customer)
        ) as ours_to_pay,
        min(gross_usd) filter (place_by_cost = 1) as visit_gross_usd,
        min(labour_usd) filter (place_by_cost = 1) as visit_labour_usd,
        min(material_cost) filter (place_by_cost = 1) as visit_material_usd,
        min(coalesce(recovered, 0)) filter (place_by_cost = 1) as visit_recovered_usd,
        bool_or(priced_by_standard) filter (place_by_cost = 1) as visit_priced_by_standard
    from ranked
    group by group_id
),
final_step as (
    select
        ranked.callback_id,
        visits.visit_id,
        ranked.opening_id,
        ranked.job_id,
        ranked.complaint,
        ranked.reported_on,
        ranked.outcome_known,
        visits.visit_reported_on,
        visits.records,
        ranked.place_in_visit = 1 as is_leader,
        ranked.place_in_visit = 1 and visits.ours_to_pay as counts,
        case
            when ranked.place_in_visit > 1 then 'duplicate'
            when not visits.ours_to_pay then 'not ours to pay'
        end as why_not,
        ranked.completed_on,
        ranked.months_of_warranty,
        visits.visit_reported_on - ranked.completed_on as days_since_completion,
        visits.visit_reported_on - ranked.completed_on between 0 and ranked.months_of_warranty * 30.4375 as in_warranty,
        case when ranked.place_in_visit = 1 then visits.visit_labour_usd else 0 end as labour_cost,
        case when ranked.place_in_visit = 1 then visits.visit_material_usd else 0 end as material_cost,
        case when ranked.place_in_visit = 1 then visits.visit_recovered_usd else 0 end as recovered,
        case
            when ranked.place_in_visit = 1 then visits.visit_gross_usd - visits.visit_recovered_usd
            else 0
        end as net_cost,
        ranked.place_in_visit = 1 and coalesce(visits.visit_priced_by_standard, false) as marked_standard
    from ranked
    join visits using (group_id)
)
select * from final_step;
