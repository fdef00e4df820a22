"""``mark --reading-score`` and its ``--cue``: files, summary, and options that do not fit."""

from __future__ import annotations

from pathlib import Path

import pytest
from example_scores import CHROMATIC_STUDY, ORCHESTRAL_NOCTURNE
from typer.testing import CliRunner, Result

from pedalsetter.engrave import command_line


def run(*arguments: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(command_line.app, [str(argument) for argument in arguments])


@pytest.mark.engraving
def test_the_harp_with_a_cue_line(tmp_path: Path) -> None:
    """Two parts are named; pages, source and plan are written under names of their own."""
    result = run(
        *("mark", ORCHESTRAL_NOCTURNE.path, "--reading-score", "--cue", "Flute"),
        *("-o", tmp_path, "--dpi", "60"),
    )

    assert result.exit_code == 0, result.output
    assert "2 parts: Flute, Harp" in result.stdout
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names[0].startswith("orchestral-nocturne-reading-1.png")
    assert {
        "orchestral-nocturne-reading.ly",
        "orchestral-nocturne-reading.pdf",
        "orchestral-nocturne.plan.json",
    } <= set(names)


@pytest.mark.engraving
def test_strict_holds_here_too(tmp_path: Path) -> None:
    """The score of a part that cannot be played is engraved, and ``--strict`` ends with 1."""
    result = run(
        *("mark", CHROMATIC_STUDY.path, "--reading-score", "--strict", "--no-png", "--no-mends"),
        *("-o", tmp_path),
    )

    assert result.exit_code == 1
    assert "findings are flagged in the margin and listed at the end" in result.stdout
    assert (tmp_path / "chromatic-study-reading.pdf").is_file()


@pytest.mark.parametrize(
    "arguments",
    [
        ["--cue", "Flute"],
        ["--reading-score", "--watch"],
        ["--reading-score", "--write-back"],
        ["--reading-score", "--cue", "celesta"],
    ],
)
def test_what_does_not_fit_is_exit_2(arguments: list[str], tmp_path: Path) -> None:
    """A cue without a reading score, options that want the part, a part that is not there."""
    result = run("mark", ORCHESTRAL_NOCTURNE.path, *arguments, "-o", tmp_path)

    assert result.exit_code == 2
    assert not list(tmp_path.iterdir())
