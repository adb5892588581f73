"""Rules between tables: which column of a kind must name a row of another."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Link:
    """`kind.column` must name a row of `parent` (its key column), or the row waits."""

    kind: str
    column: str
    parent: str


LINKS: tuple[Link, ...] = (
    Link("openings", "job_id", "jobs"),
    Link("labour", "job_id", "jobs"),
    Link("labour", "opening_id", "openings"),
    Link("materials", "job_id", "jobs"),
    Link("materials", "opening_id", "openings"),
    Link("other_costs", "job_id", "jobs"),
    Link("install_checks", "opening_id", "openings"),
    Link("callbacks", "opening_id", "openings"),
    Link("callbacks", "duplicate_of", "callbacks"),
    Link("quotes", "job_id", "jobs"),
)
