"""An error is one line: file, bar, beat, staff, what is wrong, the mend."""

from __future__ import annotations

import pytest

from pedalsetter.analysis import errors
from pedalsetter.analysis.errors import EngravingError, PedalsetterError, ScoreError


def test_the_line_names_every_fact_in_order() -> None:
    """A musician reads where, what, and how to mend it, in that order."""
    error = ScoreError(
        "the tie on G has no end",
        file="nocturne.musicxml",
        bar="42",
        beat="3",
        staff="lower staff",
        mend="Close the tie in the score.",
    )

    assert str(error) == (
        "nocturne.musicxml, bar 42, beat 3, lower staff: the tie on G has no end. "
        "Close the tie in the score."
    )


def test_what_is_not_known_is_left_out() -> None:
    """No "None" is ever shown."""
    assert str(ScoreError("the file is empty")) == "the file is empty"
    assert str(ScoreError("the file is empty.", mend="Export it again.")) == (
        "the file is empty. Export it again."
    )


def test_a_message_is_one_line() -> None:
    """Line breaks of a library's own message do not reach the user."""
    assert "\n" not in str(ScoreError("first\nsecond"))


def test_the_file_is_named_once() -> None:
    """A file named deeper down is not renamed further up."""
    error = ScoreError("broken", file="inner.xml")

    assert str(error.in_file("outer.mxl")) == "inner.xml: broken"
    assert str(ScoreError("broken").in_file("outer.mxl")) == "outer.mxl: broken"


@pytest.mark.parametrize("name", [n for n in errors.__all__ if n != "PedalsetterError"])
def test_one_tree(name: str) -> None:
    """Catching one class catches them all; only the engraver's failures exit with 3."""
    kind = getattr(errors, name)

    assert issubclass(kind, PedalsetterError)
    assert kind.exit_code == (3 if kind is EngravingError else 2)
