"""Bars as every context writes them, and the time that grace notes take."""

from __future__ import annotations

from fractions import Fraction

import pytest
from small_parts import bar_rests, direction, line, small_part, time

from pedalsetter.analysis.part import (
    BarlineStyle,
    ClefChange,
    DirectionKind,
    Ending,
    Grace,
    HarpPart,
    KeyChange,
    Place,
    Section,
    SectionReason,
)
from pedalsetter.engrave.notation.timeline import bar_units, grace_skips


def runs(part: HarpPart, *places: Place) -> list[tuple[int, int]]:
    """(first, last) of each unit."""
    return [(unit.first, unit.last) for unit in bar_units(part, places)]


def test_units_cover_the_part_without_gaps() -> None:
    """Units follow each other from the first barline to the last."""
    part = small_part(line("C5/1"), bar_rests(range(1, 5)), line("C5/1", bar=5, at=20), bars=6)
    units = bar_units(part)
    assert [(u.first, u.last, u.gathered) for u in units] == [
        (0, 0, False),
        (1, 4, True),
        (5, 5, False),
    ]
    assert [u.start for u in units] == [0, 4, 20]
    assert sum(u.length for u in units) == part.length


def test_one_silent_bar_is_not_gathered() -> None:
    """A single bar of rest is an ordinary whole rest."""
    part = small_part(line("C5/1"), bar_rests([1]), line("C5/1", bar=2, at=8), bars=3)
    assert not any(unit.gathered for unit in bar_units(part))


def test_a_bar_without_any_rest_is_not_silent() -> None:
    """Bars that the source leaves empty are not taken for rests."""
    assert runs(small_part(bars=3)) == [(0, 0), (1, 1), (2, 2)]


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"bar_fields": {3: {"repeat_start": True}}}, [(0, 2), (3, 5)]),
        ({"bar_fields": {3: {"repeat_times": 2}}}, [(0, 3), (4, 5)]),
        ({"bar_fields": {3: {"right": BarlineStyle.DOUBLE}}}, [(0, 3), (4, 5)]),
        ({"bar_fields": {3: {"barline_fermatas": ("above",)}}}, [(0, 3), (4, 5)]),
        (
            {"bar_fields": {3: {"ending": Ending((1,), "1.", True, True)}}},
            [(0, 2), (3, 3), (4, 5)],
        ),
        ({"keys": (KeyChange(Fraction(12), 3, 2),)}, [(0, 2), (3, 5)]),
        ({"clefs": (ClefChange(Fraction(14), 3, 1, "F", 4),)}, [(0, 2), (3, 3), (4, 5)]),
        ({"sections": (Section(3, (SectionReason.HEADING,)),)}, [(0, 2), (3, 5)]),
        (
            {"directions": (direction(DirectionKind.REHEARSAL, 12, bar=3, text="A"),)},
            [(0, 2), (3, 5)],
        ),
        (
            {"directions": (direction(DirectionKind.TEMPO_WORDS, 13, bar=3, text="rit."),)},
            [(0, 2), (3, 3), (4, 5)],
        ),
        (
            {"directions": (direction(DirectionKind.JUMP_WORDS, 13, bar=3, text="Fine"),)},
            [(0, 3), (4, 5)],
        ),
    ],
)
def test_anything_printed_breaks_a_rest(
    fields: dict[str, object], expected: list[tuple[int, int]]
) -> None:
    """A player who counts six bars must not count over a sign that stands among them."""
    part = small_part(bar_rests(range(6)), bars=6, **fields)  # type: ignore[arg-type]
    assert runs(part) == expected


def test_signature_breaks_a_rest() -> None:
    """Bars of two lengths are not counted together."""
    part = small_part(
        bar_rests(range(2)), bars=4, bar_fields={2: {"time": time(3, 4)}, 3: {"time": time(3, 4)}}
    )
    assert runs(part) == [(0, 1), (2, 2), (3, 3)]


def test_a_pedal_mark_breaks_a_rest() -> None:
    """A mark at a barline begins a new rest, one within a bar leaves that bar alone."""
    part = small_part(bar_rests(range(6)), bars=6)
    assert runs(part, Place(3, Fraction(0))) == [(0, 2), (3, 5)]
    assert runs(part, Place(3, Fraction(2))) == [(0, 2), (3, 3), (4, 5)]


def test_grace_skips_take_the_longest_group() -> None:
    """Every context spends as much grace time as the longest group at the moment."""
    part = small_part(
        line("C5/4 g:D5/16 g:E5/16 D5/4 E5/2", voice="1"),
        line("C4/4 g:D4/8 g:E4/8 D4/4 E4/2", voice="2"),
    )
    assert dict(grace_skips(part)) == {(0, Fraction(1)): Fraction(1)}


def test_after_notes_take_no_common_time() -> None:
    """Notes after a trill belong to their own note, so no other context waits for them."""
    part = small_part(line("C5/1 g:D5/16", marks={1: {"grace": Grace(after=True)}}))
    assert dict(grace_skips(part)) == {}
