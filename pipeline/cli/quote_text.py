"""A quote in plain words: what stops it, the price, then how it is made up, what to order and what to mind."""

from collections.abc import Iterator, Mapping, Sequence
from textwrap import wrap
from typing import Any

from pipeline.cli.text import hours, percent, table, usd
from schemas.quote_words import assumed_sentences
from schemas.units import told_chance

WIDTH = 110
CONFIDENCE = {
    "few_like_it": "few like it in the book: check the hours by hand",
    "outside_experience": "outside what the firm has done",
}
RESULTS = {"fail": "FAILS", "pass": "meets"}
UNITS = {"_ft2": "sq ft", "_in": "in"}
LABELS = (
    ("labour", "labour_cost"), ("materials", "material_cost"), ("other costs", "other_cost"), ("overhead", "overhead"),
    ("set aside for callbacks", "callback_allowance"), ("expected cost", "expected_cost"),
)  # fmt: skip

Part = Mapping[str, Any]


def lines(result: Part) -> Iterator[str]:
    """The offer as a person reads it: the first line says whether there is a price at all."""
    yield from _head(result)
    yield from _stops(result)
    yield ""
    yield from _costs(result)
    for opening in result["openings"]:
        yield ""
        yield from _opening(opening)
    for job in result["jobs"]:
        yield ""
        yield from _job(job)
    yield from _guidance(result["price_guidance"], result["total"])
    yield ""
    yield from _cautions(result)


def _head(result: Part) -> Iterator[str]:
    total = result["total"]
    days, found = total["crew_days"], total["labour_hours"]
    name = f"quote {result['quote_id']}, figures as of {result['as_of']}"
    refused = [opening["opening_id"] for opening in result["openings"] if opening["confidence"] == "outside_experience"]
    if refused:
        yield f"Price this by hand: {', '.join(refused)} outside what the firm has done ({name})"
        yield "Do not rely on the hours and costs below: the book holds nothing like it"
        yield from _within_experience(result["within_experience"], total["margin"])
    else:
        short = f" WITHOUT {', '.join(result['left_out'])}" if result["left_out"] else ""
        yield f"{usd(total['price_at_margin'])} is the price for {percent(total['margin'])} margin{short} ({name})"
        risk = f"At {usd(total['price'])} the chance to lose money is {_chance(total['chance_of_loss'])}"
        yield risk + (", counting only what the book can tell" if result["left_out"] else "")
    yield (
        f"{hours(found['mean'])} of labour, 8 times in 10 between {hours(found['p10'])} and {hours(found['p90'])}; "
        f"crew {days['p50']:.1f} days of {hours(result['crew_hours_per_day'])}, all hands together, "
        f"plan for {days['p90']:.1f}"
    )
    yield _rests_on(result["learned_from"])


def _rests_on(learned: Part) -> str:
    lean = "starter rates and " if learned["starter_rates"] else ""
    parts = [f"hours on {lean}{learned['jobs']} finished jobs with {learned['openings']} openings"]
    if learned["material_jobs"]:
        parts.append(f"materials on the purchases of {learned['material_jobs']} jobs")
    if learned["callback_visits"]:
        parts.append(f"callbacks on {learned['callback_visits']} first visits")
    held, kept_back = learned["coverage_80"], learned["holdout_openings"]
    if held is not None:
        parts.append(f"“8 times in 10” held {percent(held)} of the time on {kept_back} openings kept back")
    return f"It rests: {'; '.join(parts)}"


def _within_experience(alone: Part | None, margin: float) -> Iterator[str]:
    if alone is not None:
        yield (
            f"Without it, {', '.join(alone['openings'])}: {usd(alone['price_at_margin'])} is the price for "
            f"{percent(margin)} margin, {usd(alone['expected_cost'])} the expected cost"
        )


def _chance(share: float) -> str:
    """A chance of loss in words."""
    bound, told = told_chance(share)
    return bound + percent(told, digits=1)


def _stops(result: Part) -> Iterator[str]:
    """What to settle before anything is promised; nothing when there is nothing."""
    stops = [stop for opening in result["openings"] for stop in _stops_of(opening)]
    if result["as_of"] < result["learned_from"]["until"]:
        stops.append(
            f"figures as of {result['as_of']}, but hours, materials and callbacks were learned from records up to "
            f"{result['learned_from']['until']}: it is no quote as it would have been then"
        )
    if result["learned_from"]["starter_rates"]:
        stops.append(
            f"hours lean on your starter rates: {result['learned_from']['jobs']} finished jobs in the book so far"
        )
    if not result["overhead_set"]:
        stops.append("overhead not set: no overhead is in the cost; set overhead_per_labour_hour in areaway.toml")
    if stops:
        yield ""
        yield "Settle before you promise this:"
        yield from _listed(stops)


def _stops_of(opening: Part) -> Iterator[str]:
    name = opening["opening_id"]
    if opening["confidence"] in CONFIDENCE:
        beyond = f"; never seen in the book: {_words(opening['out_of_range'])}" if opening["out_of_range"] else ""
        yield f"{name}: {CONFIDENCE[opening['confidence']]}{beyond}"
    elif opening["out_of_range"]:
        yield f"{name}: never seen in the book: {_words(opening['out_of_range'])}"
    yield from (f"{name}: {remark}" for remark in opening["remarks"])
    for check in opening["egress"]:
        if check["result"] == "fail":
            yield f"{name}: {_check(check)}"
    if opening["assumed"]:
        told = assumed_sentences(opening["assumed"], opening["assumed_values"], opening["crew"])
        yield f"{name}: {' '.join(told)}"


def _words(columns: Sequence[str]) -> str:
    return ", ".join(column.removesuffix("_in").replace("_", " ") for column in columns)


def _costs(result: Part) -> Iterator[str]:
    total = result["total"]
    yield from table(("cost", "USD"), [(name, usd(total[key])) for name, key in LABELS])
    yield f"Four times in five it costs less than {usd(total['cost_p80'])}"
    several = len(result["jobs"]) > 1
    for job in result["jobs"]:
        named = f"{job['job_id']}, " if several else ""
        yield from (f"  other: {named}{_other_cost(line)}" for line in job["other_costs"])
    if several:
        yield from table(("job", "hours", "expected cost", "price"), [_priced(job) for job in result["jobs"]])


def _other_cost(line: Part) -> str:
    usual = f"usually {usd(line['low'])} to {usd(line['high'])} on {line['jobs']} past jobs"
    return f"{line['category']} {usd(line['expected'])}, {usual}"


def _priced(job: Part) -> tuple[str, str, str, str]:
    price = "by hand" if job["price_at_margin"] is None else usd(job["price_at_margin"])
    return job["job_id"], hours(job["labour_hours"]["mean"]), usd(job["expected_cost"]), price


def _opening(opening: Part) -> Iterator[str]:
    asked, found, chances = opening["asked"], opening["labour_hours"], opening["callback"]
    yield (
        f"{opening['opening_id']}: {_words([asked['opening_work'], asked['wall_type']])}, "
        f"{asked['rough_width_in']:g} × {asked['rough_height_in']:g} in, "
        f"{hours(found['mean'])}, 8 times in 10 between {hours(found['p10'])} and {hours(found['p90'])}"
    )
    yield from table(("phase", "8 in 10", "hours", "how"), [_phase(line) for line in opening["phases"]])
    if opening["similar_hours"]:
        yield "Done before, the likest first:"
        yield from _listed([f"{one['opening_id']} took {hours(one['hours'])}: {one['told']}"
                            for one in opening["similar_hours"]])  # fmt: skip
    if chances["leak"] is not None:
        shown = ", ".join(f"{cause} {percent(chances[cause], digits=1)}" for cause in ("leak", "fit", "drainage"))
        yield f"Chance of a callback under warranty: {shown}; {usd(chances['expected_cost'])} set aside"
    yield from _egress(opening["egress"])


def _phase(line: Part) -> tuple[str, str, str, str]:
    made_up = "" if line["explained"] is None else "= " + line["explained"]["text"].split(" = ", 1)[-1]
    return line["phase"].replace("_", " "), f"{line['p10']:.1f} to {line['p90']:.1f}", hours(line["mean"]), made_up


def _egress(checks: Sequence[Part]) -> Iterator[str]:
    yield f"Escape opening by model code {checks[0]['edition']}; no approval, the building official decides:"
    yield from _listed([_check(check) for check in checks if check["result"] in RESULTS])
    open_ones = [check for check in checks if check["result"] not in RESULTS]
    not_given = [_rule(check) for check in open_ones if check["value"] is None and check["limit"] is not None]
    if not_given:
        yield from _listed([f"cannot tell without the sizes: {', '.join(not_given)}"])
    yield from _listed([
        f"cannot tell: {_rule(check)}: {check['note']} ({check['section']})"
        for check in open_ones if check["value"] is not None or check["limit"] is None
    ])  # fmt: skip


def _check(check: Part) -> str:
    unit = next((unit for end, unit in UNITS.items() if check["rule"].endswith(end)), "")
    value = "" if check["value"] is None else f" {check['value']:.4g} {unit}"
    limit = "" if check["limit"] is None else f", limit {check['limit']:g}"
    note = f": {check['note']}" if check["note"] else ""
    return f"{RESULTS[check['result']]} {_rule(check)}{value}{limit} ({check['section']}){note}"


def _rule(check: Part) -> str:
    return str(check["rule"]).removesuffix("_in").removesuffix("_ft2").replace("_", " ")


def _job(job: Part) -> Iterator[str]:
    yield f"Order for {job['job_id']}, in whole packs:"
    body = [
        (f"{line['item'].replace('_', ' ')} {line['spec']}".strip(), f"{line['order_quantity']:g}", line["unit"],
         usd(line["cost"]))
        for line in job["order"]
    ]  # fmt: skip
    bought = usd(sum(line["cost"] or 0 for line in job["order"]))
    yield from table(("item", "order", "unit", "cost"), [*body, ("all", "", "", bought)])
    yield (
        f"The price counts {usd(job['material_cost'])} of materials: what such openings use on average, with what only "
        f"some of them need; the order of {bought} buys whole packs"
    )


def _guidance(bands: Sequence[Part], total: Part) -> Iterator[str]:
    if not bands:
        return
    over_cost = None if total["price"] is None else total["price"] / total["expected_cost"]
    yield ""
    yield "What became of past quotes, by price over expected cost (what happened, not what to do):"
    for band in bands:
        low = "" if band["low"] is None else f"over {band['low']:.2f} "
        high = "" if band["high"] is None else f"up to {band['high']:.2f} "
        yield (
            f"  {low}{high}times cost: won {band['won']} of {band['decided']}, {percent(band['win_rate'])} "
            f"(95 times in 100 between {percent(band['rate_low'])} and {percent(band['rate_high'])})"
            f"{_here(band, over_cost)}"
        )


def _here(band: Part, over_cost: float | None) -> str:
    """Whether the price of this quote stands in the band."""
    low, high = band["low"] or 0.0, float("inf") if band["high"] is None else band["high"]
    return f": this price, {over_cost:.2f} times cost, is here" if over_cost and low < over_cost <= high else ""


def _cautions(result: Part) -> Iterator[str]:
    """Each caution once, in the order of the work."""
    yield "On site (no clearance that work is safe):"
    shown = dict.fromkeys(
        f"{one['topic']}: {one['text']} [{one['authority']}]"
        for opening in result["openings"]
        for one in opening["cautions"]
    )
    yield from _listed(list(shown))


def _listed(texts: Sequence[str]) -> Iterator[str]:
    for text in texts:
        yield from wrap(text, WIDTH, initial_indent="  - ", subsequent_indent="    ")
