"""The first page: one door per reader, with the sentence each would want first."""

from collections.abc import Sequence

from dashboards.estimator import estimator
from dashboards.html import section
from dashboards.owner import owner
from dashboards.page import Page
from dashboards.parts import Parts
from dashboards.warranty import warranty
from dashboards.words import esc

DOORS = (
    ("owner", "Owner", "Did we make money, on which work, and is it getting better?"),
    ("estimator", "Estimator", "What will this opening take, in hours, materials, price and risk?"),
    ("warranty", "Warranty", "What is waiting, what keeps coming back, and where should we look next?"),
)


def pages(parts: Parts) -> list[Page]:
    """All pages of a book, the first page first."""
    readers = [owner(parts), estimator(parts), warranty(parts)]
    return [_index(readers, str(parts["as_of"])), *readers]


def _index(readers: list[Page], as_of: str) -> Page:
    leads = {page.name: page.lead for page in readers}
    doors = "".join(_door(name, title, question, leads[name]) for name, title, question in DOORS)
    body = section("Three readers, three pages", f'<div class="doors">{doors}</div>')
    return Page("index", "Where do we stand?", [], body, as_of, draws=False)


def _door(name: str, title: str, question: str, lead: Sequence[str]) -> str:
    first = "".join(f"<p>{esc(text)}</p>" for text in lead[:2])
    return (
        f'<div><h3 class="claim"><a href="{name}.html">{title}</a></h3><p class="note">{esc(question)}</p>{first}</div>'
    )
