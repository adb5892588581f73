"""The first page: one door per reader, with what is urgent behind it and the sentence each would want first."""

from collections.abc import Callable, Sequence

from dashboards.estimator import estimator, off
from dashboards.html import paragraph, section
from dashboards.owner import owner
from dashboards.page import Page
from dashboards.parts import Parts, have, rows_of
from dashboards.warranty import waiting, warranty
from dashboards.words import count, esc

WORTH_SAYING = 0.05  # quotes off by less than this are near enough; house rule
CALM = "Nothing urgent."


def pages(parts: Parts) -> list[Page]:
    """All pages of a book, the first page first."""
    readers = [owner(parts), estimator(parts), warranty(parts)]
    return [_index(parts, readers), *readers]


def _index(parts: Parts, readers: list[Page]) -> Page:
    leads = {page.name: page.lead for page in readers}
    doors = "".join(_door(door, door[3](parts), leads[door[0]]) for door in DOORS)
    body = section("Open your page", f'<div class="doors">{doors}</div>')
    return Page("index", "Where do we stand?", [], body, str(parts["as_of"]), draws=False)


def _losing(parts: Parts) -> str:
    losing = [row for row in rows_of(parts, "open_jobs") if row.get("heading_for_loss")]
    return f"{count(len(losing), 'open job is', 'open jobs are')} heading for a loss." if losing else ""


def _quoted_off(parts: Parts) -> str:
    held = ((have(parts, "fit") or {}).get("labour") or {}).get("quotes")
    if not held or abs(held["quoted"]["bias"]) < WORTH_SAYING:
        return ""
    return (
        f"Our quotes held {off(held['quoted']['bias'])} hours than were worked on {count(held['jobs'], 'job')}: "
        "price the next ones here."
    )


def _waiting(parts: Parts) -> str:
    open_now = waiting(parts)
    if not open_now:
        return ""
    oldest = count(open_now[0]["days_open"], "day")
    return f"{count(len(open_now), 'callback waits', 'callbacks wait')}, the oldest for {oldest}."


Urgent = Callable[[Parts], str]
Door = tuple[str, str, str, Urgent, int]
# page, title, question, what is urgent, which sentence of the page's lead stands below it
DOORS: Sequence[Door] = (
    ("owner", "Owner", "Did we make money, on which work, and is it getting better?", _losing, 0),
    ("estimator", "Estimator", "What will this opening take, in hours, materials, price and risk?", _quoted_off, 0),
    ("warranty", "Warranty", "What is waiting, what keeps coming back, and where should we look next?", _waiting, -1),
)


def _door(door: Door, urgent: str, lead: Sequence[str]) -> str:
    name, title, question, _, at = door
    first = paragraph(urgent, "alert-line") if urgent else paragraph(CALM, "note")
    said = paragraph(lead[at]) if lead and lead[at] != urgent else ""
    return (
        f'<div class="door"><h3 class="claim"><a href="{name}.html">{title}</a></h3>'
        f'<p class="note">{esc(question)}</p>{first}{said}</div>'
    )
