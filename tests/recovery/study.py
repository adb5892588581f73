"""`make study`: the long simulations, one table after another, into tests/recovery/README.md."""

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
STUDIES = ("study_labour.py", "study_callbacks.py", "study_reserve.py")
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
    """The markdown a study prints; its progress goes to standard error."""
    print(f"… {study}", file=sys.stderr, flush=True)
    return subprocess.run([sys.executable, str(HERE / study)], stdout=subprocess.PIPE, text=True, check=True).stdout


def main() -> None:
    """Run every study and write the page."""
    parts = [HEAD, f"Commit {commit()}.\n", *(run(study) for study in STUDIES)]
    (HERE / "README.md").write_text("\n".join(parts))


if __name__ == "__main__":
    main()
