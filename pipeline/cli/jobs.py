"""`areaway jobs`: the jobs, open ones with what they will cost, or one job whole, for the owner."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.margins import money_notes, plus
from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, counted, finish, hours, percent, table, usd

if TYPE_CHECKING:
    from schemas.results_money import JobRow, Jobs, OneJob

JOBS_SHOWN = 40


def jobs(
    ctx: typer.Context,
    job_id: Annotated[str | None, typer.Argument(metavar="JOB", help="One job; the whole list when left out.")] = None,
    only_open: Annotated[bool, typer.Option("--open", help="Only jobs still open.")] = False,
    show_all: Annotated[bool, typer.Option("--all", help="List every completed job, not only the newest.")] = False,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """The jobs with what each earned, open ones with what they will have cost; with an id one job whole."""
    from pipeline.errors import WrongUsage
    from pipeline.runs.jobs import job_, jobs_

    if job_id is not None and only_open:
        raise WrongUsage("--open was given with a job; leave one of the two out")
    book, settings = common(ctx)
    on = answer_day(book, as_of)
    if job_id is None:
        result = jobs_(book, settings, as_of=on, only_open=only_open)
        finish(result, as_json, list_lines(result, show_all=show_all))
        return
    one = job_(book, settings, job_id, as_of=on)
    finish(one, as_json, job_lines(one))


def list_lines(result: "Jobs", *, show_all: bool = False) -> Iterator[str]:
    """The list as a person reads it: completed jobs, the newest first, then open ones."""
    completed = [job for job in reversed(result["rows"]) if job["status"] == "completed"]
    shown = completed if show_all else completed[:JOBS_SHOWN]
    still_open = [job for job in result["rows"] if job["status"] == "open"]
    yield from money_notes(result["overhead_set"], result["waiting_rows"], result["jobs_without_labour"])
    if completed:
        yield f"{counted(len(completed), 'completed job')} as of {result['as_of']}, the newest first. Money in USD."
        yield from table(
            ["job", "completed", "crew", "revenue", "hours", "job profit", "job", "callbacks", "after callbacks"],
            [_completed(job) for job in shown],
        )
        if len(completed) > len(shown):
            yield f"… and {len(completed) - len(shown):,} more completed before these; areaway jobs --all lists them."
        yield ""
    yield f"{counted(len(still_open), 'open job')} as of {result['as_of']}:"
    if still_open:
        yield from table(
            ["job", "crew", "revenue", "cost to date", "expected final cost", "expected profit", "from", ""],
            [_open(job) for job in still_open],
        )


def _completed(job: "JobRow") -> list[object]:
    return [
        job["job_id"], job["completed_on"], job["crew"], usd(job["revenue"]), hours(job["actual_hours"]),
        usd(job["job_profit"]), percent(job["job_margin"], digits=1), usd(job["callback_cost"]),
        usd(job["profit_after_callbacks"]),
    ]  # fmt: skip


def _open(job: "JobRow") -> list[object]:
    return [
        job["job_id"], job["crew"], usd(job["revenue"]), usd(job["cost_to_date"]), usd(job["expected_final_cost"]),
        usd(job["expected_profit"]), job["expected_basis"] or "nothing to go by",
        "heading for a loss" if job["heading_for_loss"] else "",
    ]  # fmt: skip


def job_lines(job: "OneJob") -> Iterator[str]:
    """One job as a person reads it."""
    when = f"completed {job['completed_on']}" if job["completed_on"] else "still open"
    yield f"Job {job['job_id']}, crew {job['crew'] or 'not recorded'}, {when}; as of {job['as_of']}. Money in USD."
    without = [job["job_id"]] if job["completed_on"] and not job["phases"] else []
    yield from money_notes(job["overhead_set"], job["waiting_rows"], without)
    yield from _money(job)
    yield from _differences(job)
    yield from _bridge(job)
    yield from _where_hours_went(job)
    yield from _what_was_bought(job)
    yield from _lines(job)


def _money(job: "OneJob") -> Iterator[str]:
    yield ""
    yield from table(
        ["", "USD"],
        [
            ["revenue", usd(job["revenue"], cents=True)],
            ["labour", usd(job["labour_cost"], cents=True)],
            ["material", usd(job["material_cost"], cents=True)],
            ["other costs", usd(job["other_cost"], cents=True)],
            ["gross profit", usd(job["gross_profit"], cents=True)],
            ["overhead", usd(job["overhead"], cents=True)],
            ["job profit", usd(job["job_profit"], cents=True)],
            ["callbacks", usd(job["callback_cost"], cents=True)],
            ["profit after callbacks", usd(job["profit_after_callbacks"], cents=True)],
        ],
    )
    if job["status"] == "open":
        loss = ", a loss" if job["heading_for_loss"] else ""
        yield (
            f"Cost to date {usd(job['cost_to_date'])}; expected final cost {usd(job['expected_final_cost'])}, "
            f"expected profit {usd(job['expected_profit'])}{loss} (from {job['expected_basis'] or 'nothing to go by'})."
        )


def _differences(job: "OneJob") -> Iterator[str]:
    yield ""
    yield "Against the standard (plus = cost more):"
    yield from table(
        ["", "USD"],
        [
            ["wage rate", plus(job["labour_rate_variance"])],
            ["labour hours", plus(job["labour_efficiency_variance"])],
            ["material prices", plus(job["material_price_variance"])],
            ["material use", plus(job["material_usage_variance"])],
        ],
    )


def _bridge(job: "OneJob") -> Iterator[str]:
    if not job["bridge"]:
        return
    yield ""
    yield "From quoted to actual profit (plus = profit rose):"
    ends = (job["bridge"][0], job["bridge"][-1])
    yield from table(
        ["", "USD"],
        [
            [step["step"], usd(step["amount"], cents=True) if step in ends else plus(step["amount"])]
            for step in job["bridge"]
        ],
    )


def _where_hours_went(job: "OneJob") -> Iterator[str]:
    yield ""
    yield "Where the hours went:"
    yield from table(
        ["phase", "hours", "model expected", "cost"],
        [
            [line["phase"].replace("_", " "), hours(line["hours"]), hours(line["predicted_hours"]), usd(line["cost"])]
            for line in job["phases"]
        ],
    )


def _what_was_bought(job: "OneJob") -> Iterator[str]:
    yield ""
    yield "What was bought (price and use against the standard, plus = cost more):"
    yield from table(
        ["item", "quantity", "standard", "unit", "cost", "price", "use"],
        [
            [
                line["item"].replace("_", " "), f"{line['quantity']:,.1f}",
                None if line["standard_quantity"] is None else f"{line['standard_quantity']:,.1f}", line["unit"],
                usd(line["cost"]), plus(line["price_variance"]), plus(line["usage_variance"]),
            ]
            for line in job["items"]
        ],
    )  # fmt: skip
    for other in job["other_costs"]:
        yield f"Other cost, {other['category']}: {usd(other['amount'], cents=True)}"


def _lines(job: "OneJob") -> Iterator[str]:
    yield ""
    yield from table(
        ["opening", "wall", "work", "hours", "labour", "material", "other", "callbacks"],
        [
            [
                line["opening_id"], line["wall_type"].replace("_", " "), line["opening_work"].replace("_", " "),
                hours(line["hours"]), usd(line["labour_cost"]), usd(line["material_cost"]), usd(line["other_cost"]),
                usd(line["callback_cost"]),
            ]
            for line in job["openings"]
        ],
    )  # fmt: skip
    yield job["spread_rule"]
    for callback in job["callbacks"]:
        cost = "not costed yet" if callback["cost"] is None else usd(callback["cost"])
        counted = "" if callback["counts"] else f" (not counted: {callback['why_not']})"
        yield f"Callback {callback['callback_id']} {callback['reported_on']}: {callback['complaint']}, {cost}{counted}."
