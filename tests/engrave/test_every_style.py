"""Each style that comes with the program over the four examples; the command that lists them."""

from __future__ import annotations

import pytest
from example_scores import EVENING_WATER, EXAMPLES, Example
from replay import replay
from typer.testing import CliRunner

from pedalsetter.analysis.marks.marking import Reason
from pedalsetter.engrave import command_line
from pedalsetter.engrave.house_style import house_style_names, load_house_style, style_as_toml
from pedalsetter.engrave.road import mark_score


@pytest.mark.engraving
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.file)
@pytest.mark.parametrize("name", house_style_names())
def test_a_style_engraves_the_examples(name: str, example: Example) -> None:
    """No mark touches anything, every mark is there, and the marks alone give every note."""
    style = load_house_style(name)
    result = mark_score(example.path, house_style=name, dpi=None)
    marks = result.planned.markings
    assert result.proof.failures == ()
    assert result.engraver_warnings == ()
    assert result.proof.marks == len(marks.diagrams) + len(marks.changes) + len(marks.strings)
    opens = style.diagrams_at_start
    assert replay(result.planned.part, result.planned.plan, marks, key_opens=not opens) == []
    assert any(mark.reason is Reason.START for mark in marks.diagrams) == opens
    if style.diagrams_at_systems:
        assert sum(mark.reason is Reason.SYSTEM for mark in marks.diagrams) >= 2
    if name == "between-staves" and example is EVENING_WATER:
        # Beams from staff to staff leave no room: what would touch them stands outside.
        assert "rowOfOuter" in result.source


def run(*words: str) -> tuple[int, str, str]:
    """Exit code, output and errors of the command."""
    result = CliRunner().invoke(command_line.app, ["styles", *words])
    return result.exit_code, result.stdout, result.stderr


def test_styles_are_listed_with_a_line_each() -> None:
    """At least five, each with its name and what it is for, in lines that fit a terminal."""
    code, output, errors = run()
    lines = output.splitlines()
    assert (code, errors) == (0, "")
    assert [line.split()[0] for line in lines] == list(house_style_names())
    assert {"final-part", "reading-score", "edition", "study", "large-print"} <= {
        line.split()[0] for line in lines
    }
    assert all(20 < len(line) <= 100 for line in lines)


@pytest.mark.parametrize("name", house_style_names())
def test_a_style_is_printed_whole(name: str) -> None:
    """What is printed is a file from which the very same style is read."""
    assert run(name) == (0, style_as_toml(load_house_style(name)), "")


def test_an_unknown_style_is_one_line() -> None:
    """The line lists the styles that there are."""
    code, output, errors = run("gilded")
    assert (code, output) == (2, "")
    assert errors == (
        "pedalsetter: there is no house style 'gilded'. Choose from "
        f"{', '.join(house_style_names())}, or give a file ending in .toml.\n"
    )
