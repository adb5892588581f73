"""A quote on one sheet of paper: above the cut the offer for the customer, below it what the folder needs."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from dashboards.words import NOTHING, day, esc, hours, percent, units, usd, word
from schemas.quote_words import assumed_sentences
from schemas.units import told_chance

STYLE = """
@page { size: auto; margin: 9mm 10mm; }
* { box-sizing: border-box; }
body { font: 8.6pt/1.26 system-ui, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif; color: #1b262c; }
body { max-width: 188mm; margin: 6mm auto; padding: 0 3mm; background: #fff; }
h1 { font: 600 17pt/1.15 Georgia, 'Liberation Serif', serif; margin: 0; }
h2 { font-size: 8.8pt; margin: 2.2mm 0 .6mm; border-bottom: .3mm solid #1b262c; break-after: avoid; }
p, ul { margin: .8mm 0; } ul { padding-left: 4.5mm; }
header { display: flex; flex-wrap: wrap; justify-content: space-between; align-items: baseline; gap: 1mm 6mm; }
.price { font: 600 20pt/1.1 Georgia, 'Liberation Serif', serif; margin: .8mm 0; }
.soft { color: #4a5861; } .alert { color: #8a2f00; font-weight: 600; }
table { border-collapse: collapse; width: 100%; }
caption { text-align: left; font-weight: 600; padding: 1.6mm 0 .4mm; }
th, td { text-align: left; vertical-align: top; padding: .25mm 1.5mm .25mm 0; border-bottom: .15mm solid #d6d0c1; }
th { font-weight: 400; color: #4a5861; } .n { text-align: right; white-space: nowrap; }
tr:last-child.sum td { border-top: .3mm solid #1b262c; font-weight: 600; }
.cut { border: 0; border-top: .3mm dashed #4a5861; margin: 3.5mm 0 1mm; }
.beside { display: grid; grid-template-columns: repeat(auto-fit, minmax(52mm, 1fr)); gap: 0 6mm; align-items: start; }
.price small { font: 9pt/1 system-ui, sans-serif; color: #4a5861; }
.sign { display: flex; gap: 8mm; margin-top: 6mm; } .sign span { flex: 1; border-top: .2mm solid #1b262c; }
.blanks { margin-top: 2mm; } .blanks span { border-top: 0; border-bottom: .2mm solid #1b262c; color: #4a5861; }
.small { font-size: 7.5pt; line-height: 1.18; }
.small .three { columns: 3; column-gap: 5mm; } .small li { break-inside: avoid; }
@media print { body { margin: 0; padding: 0; max-width: none; } tr { break-inside: avoid; } }
@media (max-width: 480px) { .sign { flex-wrap: wrap; } }
@media (max-width: 480px) { .small .three { columns: 1; } }
"""


def quote_sheet(quote: Mapping[str, Any]) -> str:
    """The sheet as one HTML page that needs nothing else; every text is escaped, no script runs.

    in:  the answer to `areaway quote`
    """
    title = f"Quote {quote['quote_id']}"
    policy = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{esc(title)}</title><style>{STYLE}</style></head><body><main>"
        f'{_offer(quote, title)}<hr class="cut">{_folder(quote)}</main></body></html>\n'
    )


def _offer(quote: Mapping[str, Any], title: str) -> str:
    """What the customer gets."""
    openings = "".join(f"<li>{esc(_described(opening))}</li>" for opening in quote["openings"])
    return (
        f'<header><h1>{esc(title)}</h1><p class="soft">Figures as of {esc(day(quote["as_of"]))}</p></header>'
        f'<p class="sign blanks"><span>For</span><span>At</span><span>Good until</span></p>'
        f"{_price(quote)}<h2>The work</h2><ul>{openings}</ul>"
        "<p>Included: digging, cutting and setting as listed, material, disposal, cleaning up. "
        "Not included unless written here: repair of lines nobody could have marked, finishes indoors, planting.</p>"
        "<p>Depends on: the building permit and the official's word on the escape opening, marks for buried lines "
        "before anyone digs, and an engineer's or designer's answer where the wall above must be carried.</p>"
        '<p class="sign"><span>Accepted, date</span><span>Customer</span><span>For the firm</span></p>'
    )


def _price(quote: Mapping[str, Any]) -> str:
    price = quote["total"]["price"]
    if price is None:
        by_hand = "To be priced by hand: outside what the firm has done."
        return f'<p class="alert">{by_hand}</p><p class="price"><small>Price</small> $ __________</p>'
    return f'<p class="price"><small>Price</small> {usd(price)}</p>'


def _described(opening: Mapping[str, Any]) -> str:
    asked = opening["asked"]
    size = f"{_inches(asked.get('rough_width_in'))} × {_inches(asked.get('rough_height_in'))} in rough"
    work = {"new_cut": "cut a new opening", "enlarge": "enlarge the opening", "replace": "replace the window"}
    wall = f"{work[asked['opening_work']]} in {word(asked['wall_type'])}, {size}"
    well = "no well" if asked["well_type"] == "none" else f"{word(asked['well_type'])} well"
    drain = f", drain: {word(asked['drain'])}" if asked.get("drain") not in (None, "none") else ""
    return f"{opening['opening_id']}: {wall}; {well}{drain}"


def _inches(size: float | None) -> str:
    return NOTHING if size is None else f"{size:g}"


def _folder(quote: Mapping[str, Any]) -> str:
    """What stays with the firm."""
    return (
        f'<section><p class="soft">Cut here. Below is for our own folder.</p>{_warning(quote)}'
        f'<div class="beside"><div>{_costs(quote)}{_assumed(quote)}</div><div>{_phases(quote)}</div>'
        f"<div>{_orders(quote)}</div></div>{_egress(quote)}"
        '<div class="small"><h2>Before anyone starts (no clearance that work is safe)</h2>'
        f'<ul class="three">{"".join(_cautions(quote))}</ul></div></section>'
    )


def _warning(quote: Mapping[str, Any]) -> str:
    words = {"few_like_it": "few like it were done", "outside_experience": "outside what the firm has done"}
    doubts = [f"{o['opening_id']}: {words[o['confidence']]}" for o in quote["openings"] if o["confidence"] in words]
    rely = " Do not rely on these hours and costs." if any("outside" in doubt for doubt in doubts) else ""
    by_hand = [f"Check by hand. {'; '.join(doubts)}.{rely}"] if doubts else []
    missing = [f"Not in this price: {', '.join(quote['left_out'])}."] if quote["left_out"] else []
    said = [*by_hand, *missing, *(remark for opening in quote["openings"] for remark in opening["remarks"])]
    return f'<p class="alert">{esc(" ".join(said))}</p>' if said else ""


def _costs(quote: Mapping[str, Any]) -> str:
    total = quote["total"]
    parts = (
        ("labour", "labour_cost"),
        ("materials", "material_cost"),
        ("other costs", "other_cost"),
        ("overhead", "overhead"),
        ("set aside for callbacks", "callback_allowance"),
    )
    rows = [(name, usd(total[key])) for name, key in parts] + [("expected cost", usd(total["expected_cost"]))]
    overhead = "" if quote["overhead_set"] else " Overhead is not set in the settings."
    risk = (
        ""
        if total["price"] is None
        else (
            f" At {usd(total['price'])} the chance to lose money is {_chance(total['chance_of_loss'])};"
            f" {percent(total['margin'])} margin asks {usd(total['price_at_margin'])}."
        )
    )
    return _table("Cost", ("", "USD"), rows, last="sum") + (
        f"<p>Four times in five it costs less than {usd(total['cost_p80'])}.{risk}{overhead}</p>"
    )


def _chance(share: float) -> str:
    bound, told = told_chance(share)
    return bound + percent(told, 1)


def _phases(quote: Mapping[str, Any]) -> str:
    total: dict[str, float] = {}
    for line in (line for opening in quote["openings"] for line in opening["phases"]):
        total[line["phase"]] = total.get(line["phase"], 0.0) + line["mean"]
    found, days = quote["total"]["labour_hours"], quote["total"]["crew_days"]
    rows = [(word(name), hours(mean)) for name, mean in total.items()] + [("all", hours(found["mean"]))]
    return _table("Hours", ("", "on average"), rows, last="sum") + (
        f"<p>8 times in 10 between {hours(found['p10'])} and {hours(found['p90'])}; "
        f"crew days {days['p50']:.1f}, 9 times in 10 no more than {days['p90']:.1f}.</p>"
    )


def _orders(quote: Mapping[str, Any]) -> str:
    return "".join(
        _table(
            f"Order, {job['job_id']}",
            ("item", "whole packs", "USD"),
            [*map(_order_row, job["order"]), ("all", "", usd(sum(line["cost"] or 0 for line in job["order"])))],
            last="sum",
        )
        for job in quote["jobs"]
    )


def _order_row(line: Mapping[str, Any]) -> tuple[str, str, str]:
    name = f"{word(line['item'])} {line['spec']}".strip()
    return name, f"{line['order_quantity']:g} {units(line['unit'])}", usd(line["cost"])


def _egress(quote: Mapping[str, Any]) -> str:
    said = [f"{opening['opening_id']}: {_open_checks(opening)}" for opening in quote["openings"]]
    lines = "".join(f"<li>{esc(line)}</li>" for line in said)
    edition = quote["openings"][0]["egress"][0]["edition"]
    title = f"Escape opening, model code {edition}: no approval, the building official decides"
    return f'<div class="small"><h2>{esc(title)}</h2><ul>{lines}</ul></div>'


def _open_checks(opening: Mapping[str, Any]) -> str:
    """What fails and what cannot be told; what meets the code needs no line."""
    said = []
    for result, words in (("fail", "FAILS"), ("cannot_tell", "cannot tell")):
        rules = [f"{_rule(check)} ({check['section']})" for check in opening["egress"] if check["result"] == result]
        said += [f"{words}: {', '.join(rules)}"] if rules else []
    return "; ".join(said) or "the sizes given meet every rule checked"


def _rule(check: Mapping[str, Any]) -> str:
    return str(check["rule"]).removesuffix("_in").removesuffix("_ft2").replace("_", " ")


def _cautions(quote: Mapping[str, Any]) -> Iterator[str]:
    seen = dict.fromkeys(
        (caution["topic"], caution["text"], caution["authority"])
        for opening in quote["openings"]
        for caution in opening["cautions"]
    )
    for topic, text, authority in seen:
        yield f"<li><b>{esc(topic)}</b>: {esc(text)} ({esc(authority)})</li>"


def _assumed(quote: Mapping[str, Any]) -> str:
    """What to check on the wall or with the customer, a sentence each; the same one of several openings once."""
    openings_of: dict[str, list[str]] = {}
    for opening in quote["openings"]:
        for said in assumed_sentences(opening["assumed"], opening["assumed_values"], opening["crew"]):
            openings_of.setdefault(said, []).append(opening["opening_id"])
    if not openings_of:
        return ""
    many = len(quote["openings"]) > 1
    lines = (f"{said} ({', '.join(names)})" if many else said for said, names in openings_of.items())
    listed = "".join(f"<li>{esc(line)}</li>" for line in lines)
    return f'<div class="small"><h2>Assumed: check these</h2><ul>{listed}</ul></div>'


def _table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], *, last: str = "") -> str:
    sides = ["" if at == 0 else ' class="n"' for at in range(len(heads))]
    head = "".join(f'<th scope="col"{side}>{esc(text)}</th>' for side, text in zip(sides, heads, strict=True))
    body = "".join(
        f"<tr{f' class={last}' if last and at == len(rows) - 1 else ''}>"
        + "".join(f"<td{side}>{esc(text)}</td>" for side, text in zip(sides, row, strict=True))
        + "</tr>"
        for at, row in enumerate(rows)
    )
    return f"<table><caption>{esc(caption)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
