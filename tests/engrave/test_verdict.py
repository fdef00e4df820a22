"""A verdict first, findings gathered and sorted, and nothing that breaks at 80 columns."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from example_scores import CHROMATIC_STUDY, EVENING_WATER
from typer.testing import CliRunner

from pedalsetter.engrave.command_line import app

STUDY, SOLO = CHROMATIC_STUDY.path, EVENING_WATER.path
TERMINAL = {"FORCE_COLOR": "1", "TERM": "xterm-256color", "NO_COLOR": ""}


@cache
def printed(*words: str | Path, columns: int | None = None) -> list[str]:
    """Lines that a command prints into a pipe, or on a terminal of so many columns."""
    env = {"COLUMNS": str(columns), **TERMINAL} if columns else {}
    done = CliRunner().invoke(app, [str(word) for word in words], env=env)
    assert done.exit_code in (0, 1), done.output
    return re.sub(r"\x1b\[[0-9;]*m", "", done.stdout).splitlines()


@pytest.mark.parametrize("command", ["plan", "check"])
def test_a_verdict_comes_first(command: str) -> None:
    """The second line says whether it can be played, and in which bars it cannot."""
    verdicts = {"plan": 1, "check": 2}
    solo = printed(command, SOLO, "--no-mends")[verdicts[command]]
    study = printed(command, STUDY, "--no-mends")[verdicts[command]]

    assert solo.removeprefix("The notes: ") == "Playable. 20 changes, none hurried."
    assert study.removeprefix("The notes: ") == (
        "6 places cannot be played as written: bars 5, 9 to 10, 13, 20, 22 and 24."
    )


def test_a_run_is_one_entry_and_the_worst_come_first() -> None:
    """What the feet cannot do within the run is counted with it; severities stand in order."""
    lines = printed("plan", STUDY, "--no-mends")
    headings = [line for line in lines if line.endswith(":") and not line.startswith(" ")]
    (run,) = (place for place, line in enumerate(lines) if line.startswith("  bars 9 to 10: "))

    assert headings == ["Cannot be played:", "Risky:", "Uncomfortable:"]
    assert lines[run + 1].startswith("    with it: 9 changes too fast for a foot, ")
    assert not any(line.startswith("  bar 9, beat 1+3/4: D") or "cost" in line for line in lines)


@pytest.mark.parametrize("columns", [80, 120])
def test_a_terminal_is_filled_by_words(columns: int) -> None:
    """No line is longer than the terminal, no word is cut, and the table keeps its columns."""
    wide = " ".join(" ".join(printed("plan", STUDY, "--no-mends")).split())
    lines = printed("plan", STUDY, "--no-mends", columns=columns)

    assert max(map(len, lines)) <= columns
    assert " ".join(" ".join(lines).split()) == wide
    assert len([line for line in lines if re.search(r"(left|right) +\d+:\d", line)]) == 46


def test_bars_and_severities_can_be_chosen() -> None:
    """--bars shows the changes and findings of a span, --only what is at least so grave."""
    few = printed("plan", STUDY, "--no-mends", "--bars", "5-8")
    risky = printed("plan", STUDY, "--no-mends", "--only", "risky")
    rows = [line.split()[0] for line in few if re.search(r"(left|right) +\d+:\d", line)]

    assert rows == ["6", "6", "8", "8"]
    assert [line[:12] for line in few if line.startswith("  bar")] == ["  bar 5, bea"]
    assert "Risky:" in risky
    assert "Uncomfortable:" not in risky
    done = CliRunner().invoke(app, ["plan", str(SOLO), "--no-mends", "--bars", "99"])
    assert (done.exit_code, done.stderr.count("\n")) == (2, 1)


def test_why_explains_a_span_and_what_cannot_be_played() -> None:
    """A bar without a change of its own says why it cannot be played; all has every change."""
    five = printed("plan", STUDY, "--why", "5")
    solo = printed("plan", SOLO, "--why", "all")

    assert five[1].startswith("cannot be played, bar 5, beat 3: C♯ cannot sound together with C")
    assert sum(line.startswith("  needed") for line in solo) == 20
    assert sum(line.startswith("  needed") for line in printed("plan", SOLO, "--why", "13-15")) == 4


def test_marks_go_into_a_copy_without_an_engraver(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """--no-pdf --write-back writes the same copy and plan as with pages, and asks no LilyPond."""
    monkeypatch.setenv("PEDALSETTER_LILYPOND", str(tmp_path / "nowhere"))
    lines = printed("mark", SOLO, "-o", tmp_path / "out", "--no-pdf", "--write-back")

    assert lines[1] == "Playable. 20 changes, none hurried."
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "evening-water-pedals.musicxml",
        "evening-water.plan.json",
    ]
    monkeypatch.delenv("PEDALSETTER_LILYPOND")
    printed("mark", SOLO, "-o", tmp_path / "pages", "--no-png", "--write-back")
    for path in (tmp_path / "out").iterdir():
        assert path.read_bytes() == (tmp_path / "pages" / path.name).read_bytes()
