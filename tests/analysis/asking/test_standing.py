"""How the pedals stand at a place. Reading a part from left to right: common practice."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby

from example_scores import EVENING_WATER
from part_builder import build_part

from pedalsetter.analysis.asking.standing import standing_at
from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.part import Place
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part

STEPS = build_part("F4/w", "F4/w", "F#4/w", "F#4/w", "F4/w", tempo=60)


def test_before_at_and_after_a_change() -> None:
    """F, F♯, F: the pedal goes down once and comes up once, and each place knows both."""
    plan = plan_changes(STEPS)
    down, up = plan.changes
    begin = standing_at(STEPS, plan, Place(0, Fraction(0)))
    at = standing_at(STEPS, plan, down.place)
    between = standing_at(STEPS, plan, Place(3, Fraction(0)))
    end = standing_at(STEPS, plan, Place(4, Fraction(3)))

    assert (down.text, up.text) == ("F♯", "F♮")
    assert (begin.here, begin.last, begin.following) == ((), (), (down,))
    assert (at.here, at.last, at.following) == ((down,), (), (up,))
    assert (between.last, between.following) == ((down,), (up,))
    assert (end.last, end.following) == ((up,), ())
    assert [one.setting[Letter.F] for one in (begin, at, between, end)] == [
        Position.NATURAL,
        Position.SHARP,
        Position.SHARP,
        Position.NATURAL,
    ]


def test_another_movement_begins_anew() -> None:
    """What moved in the first movement is not the last move of the second."""
    part = build_part("F4/w", "F#4/w", "F#4/w", "G4/w", movements=(2,), tempo=60)
    plan = plan_changes(part)
    standing = standing_at(part, plan, Place(3, Fraction(0)))

    assert plan.changes
    assert (standing.here, standing.last, standing.following) == ((), (), ())


def test_the_whole_piece_read_by_its_letters() -> None:
    """At every note the setting is what the printed letters have made of the opening."""
    part = read_part(EVENING_WATER.path)
    plan = plan_changes(part)
    groups = [
        (place, tuple(changes)) for place, changes in groupby(plan.changes, lambda c: c.place)
    ]
    assert len(groups) > 10
    for event in part.events:
        place = part.place_of(event)
        standing = standing_at(part, plan, place)
        pedals = dict(plan.movements[0].opening)
        for at, changes in groups:
            if (at.bar, at.offset) <= (place.bar, place.offset):
                pedals |= {change.letter: change.new for change in changes}
        before = [
            changes for at, changes in groups if (at.bar, at.offset) < (place.bar, place.offset)
        ]
        after = [
            changes for at, changes in groups if (at.bar, at.offset) > (place.bar, place.offset)
        ]

        assert dict(standing.setting) == pedals
        assert standing.last == (before[-1] if before else ())
        assert standing.following == (after[0] if after else ())
