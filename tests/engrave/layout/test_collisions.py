"""Distances between boxes, and what counts as a collision."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedalsetter.engrave.layout.collisions import (
    Nearness,
    distance,
    distance_to_thing,
    nearnesses,
    past_the_edge,
    uneven_rows,
)
from pedalsetter.engrave.layout.geometry import Box, Line, MarkBox, Page, PageBoxes, Thing

LETTER = MarkBox("c1", "pedal-letters", 1, 0, Box(10, 5, 13, 7), 0.0, 7.0, Fraction(0))
PAGE = Page(1, 100, 140, 1.6)
LINE = Line(1, 0, True, Box(5, 4, 95, 30), 95)


def boxes(*marks: MarkBox, things: tuple[Thing, ...] = ()) -> PageBoxes:
    """One page with one system that holds these."""
    return PageBoxes((PAGE,), (LINE,), marks, things)


@pytest.mark.parametrize(
    ("other", "gap"),
    [
        (Box(14, 5, 15, 7), 1.0),  # beside
        (Box(10, 9, 13, 10), 2.0),  # below
        (Box(15, 10, 16, 11), 3.0),  # off at a corner: the wider gap of the two
        (Box(12.5, 6.8, 20, 20), -0.2),  # meets: the depth is the shallower way out
        (Box(13, 5, 14, 7), 0.0),  # touches
    ],
)
def test_distance_between_boxes(other: Box, gap: float) -> None:
    """A gap is measured where two boxes are further apart; an overlap by its depth."""
    assert distance(LETTER.box, other) == pytest.approx(gap)


SMALL = st.floats(0, 50, allow_nan=False)


@given(SMALL, SMALL, SMALL, SMALL, SMALL, SMALL, SMALL, SMALL)
def test_distance_is_negative_where_the_insides_meet(
    a: float, b: float, c: float, d: float, e: float, f: float, g: float, h: float
) -> None:
    """Checked against the plain definition of two intervals that share a point inside."""
    one = Box(a, b, a + c, b + d)
    other = Box(e, f, e + g, f + h)
    meet = (
        one.left < other.right
        and other.left < one.right
        and one.top < other.bottom
        and other.top < one.bottom
    )
    assert (distance(one, other) < 0) is meet
    assert distance(one, other) == distance(other, one)


def test_a_slur_counts_with_its_arch() -> None:
    """A letter may stand in the hollow beside a slur's arch though the slur's box covers it."""
    rising = ((0.0, 20.0, 20.0, 0.0),)
    slur = Thing("Slur", 1, 0, Box(0, 0, 20, 20), rising, ((0.0, 20.5, 20.0, 0.5),))
    clear = Box(1, 5, 4, 7)
    touching = Box(1, 15.5, 4, 18)
    assert distance(clear, slur.box) < 0
    assert distance_to_thing(clear, slur) == pytest.approx(16 - 7)
    assert distance_to_thing(touching, slur) < 0


def test_ledger_lines_leave_a_gap_between_them() -> None:
    """Ledger lines of two notes are one thing for LilyPond; what stands between them is free."""
    lines = ((0.0, 3.0, 2.0, 3.0), (20.0, 3.0, 22.0, 3.0))
    ledgers = Thing("LedgerLineSpanner", 1, 0, Box(0, 3, 22, 9), lines, lines)
    assert distance_to_thing(Box(10, 4, 13, 6), ledgers) == pytest.approx(7.0)


def test_air_is_no_ink() -> None:
    """The air that a mark carries may be entered; only ink collides."""
    mark = replace(LETTER, air=0.4)
    head = Thing("NoteHead", 1, 0, Box(12.7, 5, 14, 6))
    assert [near.is_overlap for near in nearnesses(boxes(LETTER, things=(head,)))] == [True]
    assert [near.is_overlap for near in nearnesses(boxes(mark, things=(head,)))] == [False]


def test_marks_may_not_meet_each_other() -> None:
    """Two letters are measured like a letter and a note."""
    other = replace(LETTER, name="c2", box=Box(12, 5, 15, 7))
    assert list(nearnesses(boxes(LETTER, other))) == [Nearness("c1", "c2", 1, -1.0, other.box)]


def test_a_title_is_measured_too() -> None:
    """A mark must not run into the title above the first system."""
    title = Line(1, 0, False, Box(5, 0, 95, 5.5), 95)
    page = PageBoxes((PAGE,), (title, replace(LINE, line=1)), (replace(LETTER, line=1),), ())
    assert [near.other for near in nearnesses(page) if near.is_overlap] == ["title"]


def test_a_row_has_one_baseline() -> None:
    """Letters of one system stand on one line; each system and each row has its own."""
    level = replace(LETTER, name="c2", box=Box(30, 5, 33, 7))
    lower = replace(level, baseline=7.3)
    elsewhere = replace(lower, line=1)
    assert uneven_rows(boxes(LETTER, level)) == ()
    assert uneven_rows(boxes(LETTER, level, elsewhere)) == ()
    assert uneven_rows(boxes(LETTER, lower)) == ((1, 0, "pedal-letters"),)


@pytest.mark.parametrize(
    ("box", "outside"),
    [
        (Box(92, 5, 95, 7), False),
        (Box(92.1, 5, 95.1, 7), True),
        (Box(-0.1, 5, 3, 7), True),
        (Box(10, -1, 13, 1), True),
        (Box(10, 139, 13, 141), True),
    ],
)
def test_nothing_passes_the_line_end_or_the_paper(box: Box, outside: bool) -> None:
    """A mark ends where its line ends at the latest, and stays on the sheet."""
    assert bool(past_the_edge(boxes(replace(LETTER, box=box)))) is outside
