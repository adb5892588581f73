"""The README's commands run as they stand, on a folder of records other than the demo's."""

import re
import shlex
from pathlib import Path

import pytest

from pipeline.cli.main import COMMANDS, main
from sample_data.make import make

README = (Path(__file__).parents[2] / "README.md").read_text()
STAND_INS = {
    "FILE": "asked.csv",
    "DIR": "out",
    "FILE…": "my_records/jobs.csv",
    "PATH…": "my_records",
    "2026-06": "2024-05",
}
ON_THEIR_OWN = ("demo", "withdraw")  # demo is tested with the pages; withdraw would empty the book for those after it


def blocks() -> list[str]:
    """The `areaway …` lines of the README's shell blocks, comments off."""
    shell = "\n".join(re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL))
    return [line.split("#")[0].strip() for line in shell.splitlines() if line.startswith("areaway ")]


def table() -> list[str]:
    """The commands of the table "I want to …"."""
    return re.findall(r"\| `(areaway [^`]+)` \|", README)


def run(command: str, capsys: pytest.CaptureFixture[str]) -> str:
    """What a command prints; it must end well."""
    words = [STAND_INS.get(word, word) for word in shlex.split(command)[1:]]
    try:
        main(words)
    except SystemExit as end:
        assert end.code in (0, None), f"{command}: {capsys.readouterr().err}"
    return capsys.readouterr().out


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An invented firm's clean records in `my_records`."""
    place = tmp_path_factory.mktemp("firm")
    make(place / "my_records", seed=7, jobs=150, clean=True)
    (place / "my_records" / "areaway.toml").rename(place / "areaway.toml")
    heading = "wall_type,opening_work,rough_width_in,rough_height_in,well_type"
    asked = f"{heading}\npoured_concrete,new_cut,48,4' 2\",steel\n"
    (place / "asked.csv").write_text(asked)
    return place


def test_a_firm_goes_from_records_to_quote_by_the_readme_alone(folder, monkeypatch, capsys):
    """The commands under "Your own records", in their order; the last one leads with a price."""
    monkeypatch.chdir(folder)
    printed = [run(command, capsys) for command in blocks()]
    assert len(printed) == 6
    assert "is the price for 35 % margin" in printed[-1]


def test_every_command_of_the_table_answers(folder, monkeypatch, capsys):
    """Each row of "I want to …" on the book made above."""
    monkeypatch.chdir(folder)
    commands = [command for command in table() if command.split()[1] not in ON_THEIR_OWN]
    assert {command.split()[1] for command in commands} == set(COMMANDS) - set(ON_THEIR_OWN)
    for command in commands:
        assert run(command, capsys).strip(), command
