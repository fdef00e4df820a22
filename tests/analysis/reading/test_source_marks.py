"""Pedal marks that the source carries: diagrams and letters."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

import pytest
from score_snippets import bars, direction, note, read, told, words

from pedalsetter.analysis.instrument.harp import Setting
from pedalsetter.analysis.part import DirectionKind
from pedalsetter.analysis.reading.source_marks import letters_of_words


def diagram(*pedals: tuple[str, object]) -> str:
    """``<harp-pedals>`` with these tunings."""
    tunings = "".join(
        f"<pedal-tuning><pedal-step>{step}</pedal-step><pedal-alter>{alter}</pedal-alter>"
        "</pedal-tuning>"
        for step, alter in pedals
    )
    return direction(f"<harp-pedals>{tunings}</harp-pedals>", attributes='placement="above"')


def test_a_whole_diagram_is_a_setting() -> None:
    """Seven pedals in their order; it is a mark and no direction."""
    part = read(
        bars(
            note("C4", 2)
            + diagram(*zip("DCBEFGA", (0, 1, 0, 0, 1, 1, 0), strict=True))
            + note("C4", 2)
        )
    )
    (mark,) = part.source_marks
    assert (mark.kind, mark.onset, mark.placement, mark.id) == ("diagram", 2, "above", "P1-m1-d1")
    assert mark.setting() == Setting.parse("D C# B | E F# G# A")
    assert part.directions == ()


def test_a_diagram_that_cannot_be_is_kept_as_it_stands() -> None:
    """Partial, shuffled, double: what the source says is kept; half a semitone is not a place."""
    part = read(bars(diagram(("A", 1), ("D", -2), ("A", 0)) + note("C4", 4)))
    assert part.source_marks[0].pedals == (("A", 1), ("D", -2), ("A", 0))
    assert part.source_marks[0].setting() is None
    part = read(bars(diagram(("A", 1), ("D", "0.5")) + note("C4", 4)))
    assert part.source_marks[0].pedals == (("A", 1),)
    assert told(part) == [
        "bar 1, beat 1, staff 1: a pedal of a diagram could not be understood and was left out"
    ]


@pytest.mark.parametrize(
    ("text", "pedals"),
    [
        ("B♭", (("B", -1),)),
        ("(F♯)", (("F", 1),)),
        ("E♭ C♮", (("E", -1), ("C", 0))),
        ("E♭\nC♮", (("E", -1), ("C", 0))),
        ("E♭, C♮", (("E", -1), ("C", 0))),
        ("A♭/D♭", (("A", -1), ("D", -1))),
        ("G\ue262", (("G", 1),)),
    ],
)
def test_letters_with_real_signs_are_pedal_letters(
    text: str, pedals: tuple[tuple[str, int], ...]
) -> None:
    """A letter and its sign, alone or stacked, in parentheses or not."""
    part = read(bars(words(text) + note("C4", 4)))
    (mark,) = part.source_marks
    assert (mark.kind, mark.pedals) == ("letters", pedals)
    assert part.directions == ()


def test_a_bracketed_setting_may_leave_naturals_bare() -> None:
    """Source: LilyPond's manual, "Harp pedals": [D♭ C♯ B | E♯ F♯ G A♭] (trade fact S24)."""
    found = letters_of_words("[D♭ C♯ B | E♯ F♯ G A♭]")
    assert found == (("D", -1), ("C", 1), ("B", 0), ("E", 1), ("F", 1), ("G", 0), ("A", -1))


@pytest.mark.parametrize(
    "text",
    ["Bb", "F#", "A", "B♭ major", "in B♭", "♭", "C♮ dolce", "[D C B | E F G]", "Solo"],
)
def test_anything_less_certain_stays_words(text: str) -> None:
    """A plain b or # alone, or words beside: not taken for pedals here."""
    part = read(bars(words(text) + note("C4", 4)))
    assert part.source_marks == ()
    assert part.directions[0].kind is DirectionKind.WORDS
