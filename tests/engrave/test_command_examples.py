"""The example at the foot of each command's help runs as it stands there."""

from __future__ import annotations

import re
import shlex
import shutil
from itertools import pairwise
from pathlib import Path

import pytest
from example_scores import EVENING_WATER, THREE_TIMES_ROUND
from typer.testing import CliRunner

from pedalsetter.engrave import command_line

NAMES = [
    command.name or command.callback.__name__
    for command in command_line.app.registered_commands
    if command.callback is not None
]


def example_of(name: str) -> list[str]:
    """The words of the example in a command's help, without the program's own name."""
    printed = CliRunner().invoke(command_line.app, [name, "--help"]).stdout
    found = re.search(r"Example: pedalsetter (.*?)\.\s+Exit codes", " ".join(printed.split()))
    assert found, f"{name} --help shows no example"
    return shlex.split(found[1])


def test_every_command_is_here() -> None:
    """The commands that exist today are among those whose examples run."""
    assert {"mark", "plan", "check", "setting", "chart", "practice", "glissando", "diagram"} <= set(
        NAMES
    )


@pytest.mark.engraving
@pytest.mark.parametrize("name", NAMES)
def test_the_example_runs(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It ends without an error and leaves the files that it names; the scores are our examples."""
    shutil.copy(EVENING_WATER.path, tmp_path / "sonata.musicxml")
    (tmp_path / "parts").mkdir()
    shutil.copy(THREE_TIMES_ROUND.path, tmp_path / "parts")
    monkeypatch.chdir(tmp_path)
    words = example_of(name)
    result = CliRunner().invoke(command_line.app, words)

    assert words[0] == name
    # 1 is no error: check says so where something is wrong, and the score has no marks yet
    assert result.exit_code in ((0, 1) if name == "check" else (0,)), result.output
    for option, value in pairwise(words):
        if option == "-o":
            assert (tmp_path / value).exists()
