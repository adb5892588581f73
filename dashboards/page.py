"""The page shell: head, content policy, landmarks, the way between pages, scripts and print."""

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from dashboards import theme
from dashboards.html import paragraph
from dashboards.words import day, esc

PAGES: Mapping[str, str] = MappingProxyType(
    {
        "index": "Start",
        "owner": "Owner",
        "estimator": "Estimator",
        "warranty": "Warranty",
    }
)
STYLE_FILE = "areaway.css"
DRAWING_FILE = "plotly.min.js"
CAUTION = (
    "Figures come from this firm's own records. Patterns are leads, not proof, and no judgement of a person. "
    "Digging, cutting a foundation wall and escape windows are governed by local code: "
    "permits, utility marks, shoring and a licensed engineer come first."
)


@dataclass(frozen=True)
class Script:
    """A script of ours or the drawing library: the file it is written to, and its text."""

    file: str
    text: str


@dataclass(frozen=True)
class Assets:
    """What stands beside the pages, or inside each with `single_file`: style sheet, scripts, the drawing library."""

    style: str
    scripts: Sequence[Script]
    drawing: Script
    single_file: bool = False


@dataclass(frozen=True)
class Page:
    """One page: its name, what it answers, the sentence to read first, its content and the scripts it needs."""

    name: str
    question: str
    lead: Sequence[str]
    body: str
    as_of: str
    scripts: Sequence[str] = ("areaway.js",)
    draws: bool = True


def style_sheet(rules: str) -> str:
    """The style sheet: the palette, then the rules."""
    return theme.variables() + rules


def render(page: Page, assets: Assets) -> str:
    """The whole page as HTML, the same text for the same records."""
    lead = "".join(paragraph(text, "lead") for text in page.lead)
    title = f"{PAGES[page.name]} · areaway"
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy(page, assets)}">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta name="referrer" content="no-referrer"><title>{esc(title)}</title>{_style(assets)}</head>'
        f'<body id="top"><a class="skip" href="#content">Skip to the content</a>{_header(page)}'
        f'<main id="content" tabindex="-1"><h1>{esc(page.question)}</h1>{lead}{page.body}</main>'
        f'<footer><p>{esc(CAUTION)}</p><p><a href="#top">Back to the top</a></p></footer>'
        f"{_scripts(page, assets)}</body></html>\n"
    )


def _header(page: Page) -> str:
    links = "".join(
        f'<li><a href="{name}.html"{_current(name == page.name)}>{esc(title)}</a></li>' for name, title in PAGES.items()
    )
    return (
        f'<header><p class="mark">areaway</p><nav aria-label="Pages"><ul>{links}</ul></nav>'
        f'<p class="as-of">Records up to <time datetime="{esc(page.as_of)}">{esc(day(page.as_of))}</time></p></header>'
    )


def _current(here: bool) -> str:
    return ' aria-current="page"' if here else ""


def _style(assets: Assets) -> str:
    if assets.single_file:
        return f"<style>{assets.style}</style>"
    return f'<link rel="stylesheet" href="{STYLE_FILE}">'


def wanted(page: Page, assets: Assets) -> list[Script]:
    """The scripts a page runs; the large drawing library last, so that words and figures come first."""
    drawing = [assets.drawing] if page.draws else []
    return [script for script in assets.scripts if script.file in page.scripts] + drawing


def _scripts(page: Page, assets: Assets) -> str:
    scripts = wanted(page, assets)
    if assets.single_file:
        return "".join(f"<script>{script.text}</script>" for script in scripts)
    return "".join(
        f'<script {"async" if script is assets.drawing else "defer"} src="{script.file}"></script>'
        for script in scripts
    )


def policy(page: Page, assets: Assets) -> str:
    """The content policy: scripts only ours, by their digest when inlined; nothing is fetched, framed or sent.

    The drawing library sets styles of its own, hence 'unsafe-inline' for styles alone.
    """
    inlined = " ".join(digest(script.text) for script in wanted(page, assets))
    scripts = inlined if assets.single_file else "'self'"
    return (
        f"default-src 'none'; script-src {scripts}; style-src 'self' 'unsafe-inline'; img-src data: blob:; "
        "connect-src 'none'; font-src 'none'; object-src 'none'; base-uri 'none'; form-action 'none'"
    )


def digest(text: str) -> str:
    """The digest by which a content policy knows an inlined script (CSP Level 3)."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
