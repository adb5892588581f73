"""The check card to print: one page per opening, with the limits and the cautions of the day."""

from collections.abc import Mapping
from html import escape

from pipeline.quote.cautions import cautions
from pipeline.settings import Limit, Settings
from schemas.kinds import KINDS
from schemas.vocab import WORDS

# When a reading counts as a finding unless the firm sets its own limit. Plumb, reveal, diagonals and bow: one window
# maker's published guide; wall temperature: a common lower limit for sealants (from memory); the rest common practice.
USUAL_LIMITS: Mapping[str, str] = {
    "substrate_temp_f": "40 or above",
    "gasket_gap_in": "0",
    "squeeze_out": "full",
    "frame_bow_in": "1/16 at most",
    "diagonal_difference_in": "1/4 at most",
    "plumb_error_in": "1/8 at most",
    "reveal_max_in": "within 1/8 of the smallest",
}
UNITS: Mapping[str, str] = {"in": "in", "f": "°F", "lbft": "lb-ft"}
HARDEST_OPENING = {"opening_work": "new_cut", "depth_below_grade_in": 60, "wall_type": "poured_concrete"}
STYLE = """
@page { size: letter; margin: 10mm }
body { font: 10pt/1.2 sans-serif; color: #111; margin: 0 auto; max-width: 190mm }
h1 { font-size: 14pt; margin: 0 0 2mm }
table { border-collapse: collapse; width: 100% }
td, th { border: 0.3mm solid #777; padding: 1.1mm 2mm; text-align: left; vertical-align: top }
th { font-weight: 600 } td.write { width: 56mm } .limit { color: #333; width: 40mm }
ul { margin: 2mm 0 0; padding-left: 4mm; font-size: 8pt; columns: 2; column-gap: 8mm }
.small { font-size: 8pt; color: #444; margin: 1mm 0 2mm }
"""


def check_card(settings: Settings) -> str:
    """The card as an HTML page that fills one printed sheet.

    in: settings: the firm's own limits stand in place of the usual ones
    """
    rows = "\n".join(
        _row(name, column.metadata, settings) for name, column in KINDS["install_checks"].columns().items()
    )
    minded = "\n".join(
        f"<li><b>{escape(one.topic)}:</b> {escape(one.text)} <i>{escape(one.authority)}</i></li>"
        for one in cautions(HARDEST_OPENING)
    )
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>Check card</title>'
        f"<style>{STYLE}</style></head><body>\n<h1>Check card: one for each opening, on the day it is set</h1>\n"
        '<p class="small">Leave a line empty when it was not looked at; empty means not recorded, never good. '
        "Anchor torque and the number of anchors come from the anchor maker's and the frame maker's sheets.</p>\n"
        '<table><tr><th scope="col">reading</th><th scope="col">should be</th>'
        f'<th scope="col">read</th></tr>\n{rows}\n</table>\n'
        f"<ul>\n{minded}\n</ul>\n"
        '<p class="small">These are reminders, not a clearance that the work is safe. Local code and the people '
        "licensed for it decide.</p>\n</body></html>\n"
    )


def _row(name: str, about: Mapping[str, str], settings: Settings) -> str:
    unit = UNITS.get(about["unit"], "")
    meaning = f"{about['meaning'].rstrip('.')}{f' [{unit}]' if unit else ''}"
    return (
        f'<tr><td>{escape(meaning)} <span class="small">{name}</span></td>'
        f'<td class="limit">{escape(_limit(name, settings))}</td>'
        f'<td class="write">{escape(_choices(name, about))}</td></tr>'
    )


def _limit(name: str, settings: Settings) -> str:
    own = settings.limits.get(name)
    return USUAL_LIMITS.get(name, "") if own is None else f"{_in_words(own)} (our limit)"


def _in_words(limit: Limit) -> str:
    if limit.least is None:
        return f"{limit.most:g} at most"
    return f"{limit.least:g} at least" if limit.most is None else f"{limit.least:g} to {limit.most:g}"


def _choices(name: str, about: Mapping[str, str]) -> str:
    words = ("yes", "no") if about["kind"] == "yes_no" else tuple(WORDS.get(name, ()))
    return "   ".join(f"☐ {word}" for word in words)
