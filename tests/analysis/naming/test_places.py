"""Places by printed bar and counted beat. Counting beats is common practice, no source."""

from __future__ import annotations

from fractions import Fraction

import pytest
from part_builder import build_part

from pedalsetter.analysis.errors import PlaceError
from pedalsetter.analysis.naming.places import place_named
from pedalsetter.analysis.part import HarpPart, Place

BAR = "C4/q D4/q E4/q F4/q"
TUNE = build_part(BAR, BAR, BAR)
UPBEAT = build_part("G4/q", BAR, BAR, pickup=True)
TWO_MOVEMENTS = build_part(BAR, BAR, BAR, BAR, movements=(2,))


def renumbered(part: HarpPart, *numbers: str) -> HarpPart:
    """The part with other numbers printed."""
    from dataclasses import replace

    bars = tuple(replace(bar, number=n) for bar, n in zip(part.bars, numbers, strict=True))
    return replace(part, bars=bars)


@pytest.mark.parametrize(
    ("text", "bar", "offset"),
    [
        ("2", 1, 0),
        (" 2 ", 1, 0),
        ("2:1", 1, 0),
        ("2:3", 1, 2),
        ("2:2½", 1, Fraction(3, 2)),
        ("2:2.5", 1, Fraction(3, 2)),
        ("2:2+1/2", 1, Fraction(3, 2)),
        ("3:3+1/3", 2, Fraction(7, 3)),
        ("3:3⅓", 2, Fraction(7, 3)),
        ("3:4.75", 2, Fraction(15, 4)),
    ],
)
def test_a_place_by_bar_and_beat(text: str, bar: int, offset: Fraction) -> None:
    """Every way to write a beat leads to its exact moment, and back to what is printed."""
    place = place_named(TUNE, text)

    assert place == Place(bar, Fraction(offset))
    again = f"{TUNE.printed_bar(place.bar)}:{TUNE.printed_beat(place)}"
    assert place_named(TUNE, again) == place


def test_an_upbeat_has_the_last_beat_of_its_bar() -> None:
    """An upbeat of one quarter in four-four is beat 4."""
    number = UPBEAT.printed_bar(0)

    assert place_named(UPBEAT, f"{number}:4") == Place(0, Fraction(0))
    assert place_named(UPBEAT, number) == Place(0, Fraction(0))


def test_a_split_bar_is_searched_in_all_its_pieces() -> None:
    """Where a repeat has split a bar, both pieces bear one number, and each counts its beats."""
    part = renumbered(TUNE, "1", "1", "2")

    assert place_named(part, "1:3") == Place(0, Fraction(2))
    assert place_named(part, "2") == Place(2, Fraction(0))


def test_bars_of_one_number_in_two_movements() -> None:
    """Each movement counts from 1; the movement must then be named."""
    part = renumbered(TWO_MOVEMENTS, "1", "2", "1", "2")

    assert place_named(part, "2:2", movement=2) == Place(3, Fraction(1))
    with pytest.raises(PlaceError) as told:
        place_named(part, "2")
    assert str(told.value) == (
        "test.musicxml: movements 1, 2 each have a bar 2. Say which with --movement."
    ).replace("test.musicxml", part.source.file)


HOW = "Write BAR or BAR:BEAT, as in 12, 12:3, 12:2½, 12:2.5 or 12:3+1/3."


@pytest.mark.parametrize(
    ("text", "movement", "line"),
    [
        ("", None, f"'' names no place in the score. {HOW}"),
        (":2", None, f"':2' names no place in the score. {HOW}"),
        ("2:", None, f"'2:' names no place in the score. {HOW}"),
        ("2:x", None, f"'2:x' names no place in the score. {HOW}"),
        ("2:-1", None, f"'2:-1' names no place in the score. {HOW}"),
        ("2:2:2", None, f"'2:2:2' names no place in the score. {HOW}"),
        ("2:1+1/0", None, f"'2:1+1/0' names no place in the score. {HOW}"),
        ("9", None, "FILE: there is no bar 9. Its bars go from 1 to 3."),
        ("x", None, "FILE: there is no bar x. Its bars go from 1 to 3."),
        ("2", 4, "FILE: there is no movement 4. The score has 1 movement."),
        ("2", 0, "FILE: there is no movement 0. The score has 1 movement."),
        (
            "2:5",
            None,
            "FILE, bar 2: there is no beat 5, the bar has beats 1 to 4. "
            "Beats are counted in the lower figure of the signature.",
        ),
        (
            "2:0",
            None,
            "FILE, bar 2: there is no beat 0, the bar has beats 1 to 4. "
            "Beats are counted in the lower figure of the signature.",
        ),
    ],
)
def test_a_wrong_place_is_one_line(text: str, movement: int | None, line: str) -> None:
    """What is wrong, and what would be right."""
    with pytest.raises(PlaceError) as told:
        place_named(TUNE, text, movement)

    assert str(told.value) == line.replace("FILE", TUNE.source.file)
