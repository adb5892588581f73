"""`make study`: the long simulations, each into its own section of tests/recovery/README.md.

Some alone: python tests/recovery/study.py study_labour.py
"""

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE / "README.md"
STUDIES = ("study_labour.py", "study_callbacks.py", "study_reserve.py")
SECTION = "## "
HEAD = """# Studies

Made by `make study`: known-answer simulations with seeds that were not used to build the models. Figures are means over
seeds with two standard errors. Invented data throughout.
"""


def commit() -> str:
    """The commit the study ran on."""
    asked = ["git", "rev-parse", "--short", "HEAD"]
    shown = subprocess.run(asked, cwd=HERE, capture_output=True, text=True, check=True)
    return shown.stdout.strip()


def run(study: str) -> str:
    """The markdown a study prints, its commit under the heading; its progress goes to standard error."""
    print(f"… {study}", file=sys.stderr, flush=True)
    done = subprocess.run([sys.executable, str(HERE / study)], stdout=subprocess.PIPE, text=True, check=True)
    heading, rest = done.stdout.split("\n", 1)
    return f"{heading}\n\nCommit {commit()}.\n{rest}"


def with_section(page: str, section: str) -> str:
    """The page with a section put in place of the one of the same heading, or at its end."""
    heading = section.split("\n", 1)[0]
    parts = ("\n" + (page or HEAD)).split(f"\n{SECTION}")
    sections = [f"{SECTION}{part}".strip() for part in parts[1:]]
    headings = [part.split("\n", 1)[0] for part in sections]
    if heading in headings:
        sections[headings.index(heading)] = section.strip()
    else:
        sections.append(section.strip())
    return "\n\n".join([parts[0].strip(), *sections]) + "\n"


def main(studies: list[str]) -> None:
    """Run the studies asked for, or all, and write their sections as each is done."""
    for study in studies or STUDIES:
        section = run(study)
        page = PAGE.read_text(encoding="utf-8") if PAGE.exists() else ""
        PAGE.write_text(with_section(page, section), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
