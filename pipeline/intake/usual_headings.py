"""What offices write above their columns, per kind of record, and the columns of ours that they mean by it."""

from collections.abc import Mapping

# All of this is common practice, no source. Headings stand in lower case, parted by commas; the order of their words,
# plurals, brackets and the abbreviations below do not matter.
ABBREVIATIONS: Mapping[str, str] = {
    **dict.fromkeys(("no", "nr", "num", "number", "nbr"), "id"),
    **dict.fromkeys(("hr", "hrs"), "hour"),
    **dict.fromkeys(("qty", "quan", "qnty"), "quantity"),
    **dict.fromkeys(("amt", "amnt"), "amount"),
    **dict.fromkeys(("temp", "tmp"), "temperature"),
    **dict.fromkeys(("wd", "wid", "wdth"), "width"),
    **dict.fromkeys(("ht", "hgt"), "height"),
    **dict.fromkeys(("thk", "thick", "thkness"), "thickness"),
    **dict.fromkeys(("dt", "day", "on", "when"), "date"),
    **dict.fromkeys(("desc", "descr"), "description"),
    **dict.fromkeys(("mat", "matl", "mtl"), "material"),
    **dict.fromkeys(("lab", "labor", "lbr"), "labour"),
    **dict.fromkeys(("emp", "empl"), "employee"),
    **dict.fromkeys(("est", "estd"), "estimated"),
    **dict.fromkeys(("quo", "qtd"), "quoted"),
    **dict.fromkeys(("addr",), "address"),
    **dict.fromkeys(("loc",), "location"),
    **dict.fromkeys(("warr", "wrnty", "guarantee"), "warranty"),
    **dict.fromkeys(("mo", "mos", "mths", "mth"), "month"),
    **dict.fromkeys(("max", "highest"), "maximum"),
    **dict.fromkeys(("min", "lowest"), "minimum"),
    **dict.fromkeys(("diff",), "difference"),
    **dict.fromkeys(("diag",), "diagonal"),
    **dict.fromkeys(("dept", "dpt"), "department"),
    **dict.fromkeys(("dia", "diam"), "diameter"),
    **dict.fromkeys(("cat",), "category"),
    **dict.fromkeys(("cond",), "condition"),
    **dict.fromkeys(("exist", "exg", "old"), "existing"),
    **dict.fromkeys(("ro", "rgh"), "rough"),
    **dict.fromkeys(("inv",), "invoice"),
    **dict.fromkeys(("po",), "order"),
    **dict.fromkeys(("start", "started", "begin", "began", "beginning"), "started"),
    **dict.fromkeys(("finish", "finished", "complete", "completion", "done", "end", "ended"), "completed"),
    **dict.fromkeys(("compl", "cmpl"), "completed"),
    **dict.fromkeys(("bid", "estimate"), "quote"),
    **dict.fromkeys(("contr",), "contract"),
    **dict.fromkeys(("eff",), "effective"),
    **dict.fromkeys(("pkg", "pk"), "pack"),
}
FILLERS = frozenset({"the", "of", "a", "an", "our", "for", "in", "and", "or", "is", "was", "s"})

USUAL_HEADINGS: Mapping[str, Mapping[str, str]] = {
    "jobs": {
        "job_id": "job, id, project, project id, contract id, work order, work order id, job code, order id, "
        "reference, ref",
        "branch": "office, division, department, shop, yard",
        "site": "address, location, street, job site, site address, job address, customer address, client address",
        "crew": "team, foreman, lead, crew lead, crew leader, crew name, crew id, installer, who",
        "quoted_on": "quoted, quote date",
        "started_on": "started, started date, from, first date, job date, install date",
        "completed_on": "completed, completed date, closed, closed date, to, last date, finalled",
        "contract_price": "price, contract, contract amount, contract value, sold, sold price, sale price, job price, "
        "sell price, sell, revenue, total price, agreed price, quoted price, quote price",
        "change_orders": "extras, changes, change order amount, add ons, extra, extra price, co, cos",
        "change_order_hours": "extra hours, co hours",
        "change_order_cost": "extra cost, co cost",
        "quoted_labour_hours": "quoted hours, estimated hours, quote hours, budget hours, estimated labour hours, "
        "planned hours, hours quoted, quote labour hours, budgeted hours",
        "quoted_cost": "estimated cost, budget cost, quote cost, budget, planned cost, budgeted cost",
        "weather_station": "station, weather",
        "warranty_months": "warranty",
    },
    "openings": {
        "opening_id": "opening, id, window id, mark, tag, unit id, opening ref",
        "job_id": "job, project, project id, work order, work order id",
        "wall_type": "wall, foundation, foundation type, wall material, foundation wall, wall construction",
        "wall_thickness_in": "thickness, wall, wall t",
        "opening_work": "work, work type, job type, scope, type, work to do",
        "rough_width_in": "w, width, rough w, opening width, opening w, cut width, new width, rough opening width, "
        "rough opening w",
        "rough_height_in": "h, height, rough h, opening height, opening h, cut height, new height, "
        "rough opening height, "
        "rough opening h",
        "existing_width_in": "existing w, existing opening width, existing window width",
        "existing_height_in": "existing h, existing opening height, existing window height",
        "depth_below_grade_in": "dig, dig depth, excavation depth, depth below grade, below grade",
        "soil": "ground, soil type, dirt, earth",
        "dig_method": "dig, dug, dug by, excavation, dig by, digging, dig type, excavation method",
        "reinforced": "rebar, steel, steel wall",
        "well_type": "well, well material, window well",
        "well_width_in": "well w",
        "well_projection_in": "projection, well proj, well out",
        "well_depth_in": "well d, well h, well height",
        "drain": "drainage, drain type, well drain",
        "clear_width_in": "clear w, net clear width, net width, egress width, clear opening width",
        "clear_height_in": "clear h, net clear height, net height, egress height, clear opening height",
        "sill_above_floor_in": "sill height, sill above floor, sill floor",
        "sill_below_grade_in": "sill below grade, sill grade",
        "window_spec": "window, window model, window size, model, window type",
        "well_spec": "well model, well size",
    },
    "labour": {
        "entry_id": "entry, ticket, ticket id, time card id, timesheet id, time entry id, time entry",
        "job_id": "job, project, project id, work order, work order id, job code",
        "opening_id": "opening, window id, window",
        "worked_on": "date, worked, work date, labour date, worked date, started date",
        "worker_id": "worker, who, name, employee, employee id, man, person, crew member, member, installer, tech, "
        "worker name, employee name, crew member, initials, technician, by, worked by, done by",
        "phase": "task, activity, work, work type, type of work, what, operation, step, labour type, job phase, "
        "work done, "
        "description, trade, cost code, phase code, labour code, work code, task code",
        "hours": "time, man hours, hours worked, h, total hours, duration, labour hours, worked hours, labour",
        "hourly_cost": "burdened rate, loaded rate, cost rate, cost per hour, burdened cost, cost hour, "
        "labour cost per hour",
    },
    "materials": {
        "line_id": "invoice line id",
        "job_id": "job, project, project id, work order, work order id, job code",
        "opening_id": "opening, window id",
        "item": "material, what, product, part, description, item name, item description, material type, "
        "article, purchase, type",
        "spec": "size, model, specification, type, size model, grade",
        "quantity": "count, pieces, pcs, used, how many",
        "unit": "per, uom, u m, measure, unit measure, sold by",
        "unit_cost": "unit price, price, each, price each, cost each, price per unit, cost per unit, rate, each price, "
        "unit rate, price unit, ea, price ea, cost ea",
        "bought_on": "date, bought, purchase date, invoice date, purchased, ordered, order date, bought date",
    },
    "other_costs": {
        "job_id": "job, project, project id, work order, work order id, job code",
        "category": "type, what, kind, cost type, kind of cost, description, expense, item, expense type, "
        "cost category",
        "amount": "cost, total, price, paid, value, charge, fee, total cost, dollars, sum",
        "incurred_on": "date, paid date, invoice date, incurred, bill date, incurred date",
    },
    "install_checks": {
        "opening_id": "opening, window id, id, window, unit id",
        "checked_on": "date, check date, checked, set date, install date, card date",
        "installer": "who, set by, name, by, installed by, checked by, crew",
        "substrate_temp_f": "temperature, wall temperature, surface temperature, concrete temperature, "
        "wall face temperature, "
        "substrate temperature",
        "substrate_wet": "wet, wall wet, damp, wet wall",
        "high_spots_removed": "high spots, high spots off, wall cleaned, cleaned",
        "gasket_gap_in": "gap, seal gap, breaks, gap total, tape gap, butyl gap, seal breaks, gasket, "
        "gasket breaks, tape breaks",
        "squeeze_out": "squeeze, butyl, butyl squeeze, butyl shows, squeeze out butyl",
        "anchor_count": "anchors, anchor id, anchors set",
        "anchor_torque_max_lbft": "maximum torque, torque maximum, torque high",
        "anchor_torque_min_lbft": "minimum torque, torque minimum, torque low",
        "frame_bow_in": "bow, bowed, jamb bow",
        "diagonal_difference_in": "diagonals, diagonal, square, out of square, diagonal diff",
        "plumb_error_in": "plumb, out of plumb, level, plumb level",
        "reveal_min_in": "minimum reveal, smallest reveal, reveal smallest",
        "reveal_max_in": "maximum reveal, largest reveal, reveal largest",
        "head_bearing": "head, bearing, head bears",
        "foam_complete": "foam, foamed, foam all round",
        "grout_band": "grout, grouted",
        "drain_flow_ok": "drain, drain ok, drain flow, flow, drain test, water ran away, drain tested",
    },
    "weather": {
        "station_id": "station, id",
        "observed_on": "date, observed",
        "temp_min_f": "low, minimum, low temperature, minimum temperature, tmin, overnight low",
        "temp_max_f": "high, maximum, high temperature, maximum temperature, tmax",
        "precipitation_in": "rain, rainfall, precip, prcp",
    },
    "callbacks": {
        "callback_id": "callback, id, call, call id, ticket, ticket id, claim, claim id, case, case id, call back, "
        "call back id, complaint id, service id",
        "opening_id": "opening, window id, window, unit id",
        "reported_on": "date, reported, called, call date, report date, called date, received, received date, opened",
        "complaint": "problem, issue, type, symptom, what, trouble, complaint type",
        "cause_found": "cause, found, reason, root cause, finding, diagnosis, what found, what we found",
        "visited_on": "visited, visit, visit date, went, went out",
        "visited_by_crew": "crew, who, team, who went, visited by, went by",
        "work_done": "work, repair, action, fix, what done, work completed, remedy",
        "fixed": "fixed, solved, resolved, ok",
        "closed_on": "closed, closed date, completed, completed date, fixed, resolved, close date, fixed date",
        "labour_hours": "hours, time, man hours, hours spent, visit hours, h",
        "labour_cost": "cost of labour",
        "material_cost": "materials, cost of materials, parts, parts cost",
        "recovered": "credit, refund, reimbursed, got back, recovered amount",
        "duplicate_of": "duplicate, dup, dup of, repeat, same as",
        "warranty": "warranty work, covered, ours, under warranty, covered by warranty",
    },
    "prices": {
        "item": "material, product, what, article, part, item name, description",
        "spec": "size, model, specification, type, size model",
        "effective_on": "date, from, effective, valid from, as, since, effective date, price date",
        "unit": "per, uom, u m, measure, unit measure, sold by",
        "pack_size": "pack, per pack, pack of, per box, units per pack, pack quantity",
        "unit_cost": "price, cost, unit price, each, net, price each, net price, list price, rate, unit net, "
        "price unit, price ea, cost ea",
    },
    "quotes": {
        "quote_id": "id, proposal, proposal id, quote id",
        "quoted_on": "date, quoted, quote date, sent, sent date",
        "branch": "office, division, department, shop, yard",
        "job_id": "job, project, project id, became job",
        "openings": "windows, id of openings, id of windows, how many",
        "predicted_hours": "hours, estimated hours, quoted hours, quote hours, planned hours",
        "quoted_cost": "cost, estimated cost, our cost, quote cost",
        "price": "amount, total, quoted price, quote price, quote amount, quoted amount, price asked",
        "outcome": "result, status, won, won lost, decision",
        "decided_on": "decided, decision date, won date, answer date, decision",
    },
}
_ROW_NUMBER = "right only if no two lines in your files ever share a number: of two that do, the later one wins"
_BURDENED = "right only if it is the full cost of an hour with taxes and insurance, not the wage or what customers pay"
_SITE = "right if you find the job by it; it is kept in the book and never shown on a page"
_WHICH_COST = "right only if it is the cost of materials alone; hours are costed by themselves"
# Headings that may well mean something else: a person is asked, and told what hangs on it.
DOUBTFUL_HEADINGS: Mapping[str, Mapping[str, tuple[str, str]]] = {
    "jobs": {
        "cost": ("quoted_cost", "right only if it is all cost expected at quoting, overhead in, profit out"),
        "hours": ("quoted_labour_hours", "right only if it is the hours expected at quoting, not those worked"),
        "amount": ("contract_price", "right only if it is the price agreed, before change orders"),
        "total": ("contract_price", "right only if it is the price agreed, before change orders"),
        "date": ("started_on", "right only if it is the first day of work"),
        **dict.fromkeys(("customer", "customer name", "client", "job name", "name"), ("site", _SITE)),
        "change order": ("change_orders", "right only if it is dollars added to the price"),
    },
    "openings": {
        "depth": ("depth_below_grade_in", "right only if it is from grade to the bottom of the dig, not of the well"),
        "sill": ("sill_above_floor_in", "right only if it is the bottom of the clear opening above the floor"),
        "size": ("window_spec", "a width and a height in one cell are not taken apart; give each a column"),
        "material": ("wall_type", "right only if it is what the wall is made of"),
    },
    "labour": {
        **dict.fromkeys(("id", "line", "line id", "row"), ("entry_id", _ROW_NUMBER)),
        **dict.fromkeys(("rate", "wage", "hourly rate", "pay rate", "pay", "wage rate", "cost", "labour rate"),
                        ("hourly_cost", _BURDENED)),
    },
    "materials": {
        **dict.fromkeys(("id", "line", "line id", "row", "invoice", "invoice id"), ("line_id", _ROW_NUMBER)),
        **dict.fromkeys(("cost", "amount"), ("unit_cost", "right only if it is the cost of one unit, not of the line")),
    },
    "other_costs": {
        **dict.fromkeys(("id", "line", "line id", "row", "invoice", "invoice id"), ("line_id", _ROW_NUMBER)),
    },
    "install_checks": {
        "torque": ("anchor_torque_max_lbft", "right only if it is the highest reading of the anchors"),
        "reveal": ("reveal_min_in", "right only if it is the smallest reveal"),
    },
    "callbacks": {
        "cost": ("material_cost", _WHICH_COST),
        "total cost": ("material_cost", _WHICH_COST),
        "labour": ("labour_hours", "right only if it is hours, not dollars"),
        "status": ("fixed", "right only if it says yes or no"),
    },
    "quotes": {
        "quote": ("quote_id", "right only if it is the quote's number, not its price"),
        "bid": ("price", "right only if it is the price offered, not the number of the bid"),
    },
}  # fmt: skip
