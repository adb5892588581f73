"""The month in words as one page to print or send: its sentences, and the jobs that explain it step by step."""

from dashboards import theme
from dashboards.html import paragraph, section
from dashboards.words import day, esc, month, sentence_case, step_words, usd
from schemas.results_money import BridgeStep, JobThatExplains, Month

STYLE = """
body { font: 1rem/1.5 system-ui, sans-serif; max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.15rem; margin-top: 2rem; }
table { border-collapse: collapse; margin: .5rem 0 1.5rem; } caption { text-align: left; font-weight: 600; }
th, td { padding: .2rem .8rem .2rem 0; text-align: left; border-bottom: 1px solid; }
td { text-align: right; } th { font-weight: 400; }
"""
POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"


def month_page(told: Month) -> str:
    """The page as HTML with no script and nothing to fetch; the same text for the same answer."""
    title = f"{month(told['month'])} in words"
    up_to = f"Records up to {day(told['as_of'])}. Money in USD."
    body = section("What happened", *(paragraph(line["text"]) for line in told["sentences"]))
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><title>{esc(title)} · areaway</title>'
        f"<style>{theme.variables()}{STYLE}</style></head><body><main><h1>{esc(title)}</h1>"
        f"{paragraph(up_to)}{body}{_jobs(told)}</main></body></html>\n"
    )


def _jobs(told: Month) -> str:
    explained = [job for job in told["jobs_that_explain_it"] if job["steps"]]
    if not explained:
        return ""
    lead = paragraph("Against what the revenue of each job usually brings; plus = the job earned more.")
    return section("The jobs that explain it", lead, *(_job(job) for job in explained))


def _job(job: JobThatExplains) -> str:
    steps = [*job["steps"], BridgeStep(step="altogether", amount=job["effect"])]
    rows = "".join(
        f'<tr><th scope="row">{esc(sentence_case(step_words(step["step"])))}</th>'
        f"<td>{usd(float(step['amount']))}</td></tr>"
        for step in steps
    )
    return f"<table><caption>Job {esc(job['job_id'])}</caption><tbody>{rows}</tbody></table>"
