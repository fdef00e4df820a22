"""Letters where a house style wants them: earlier or later than planned, the notes still right."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from example_scores import EXAMPLES, Example
from hypothesis import HealthCheck, given, settings
from part_builder import build_part
from part_strategies import parts
from replay import replay

from pedalsetter.analysis.marks.marking import MarkingWishes, place_marks
from pedalsetter.analysis.marks.retiming import Stand, retimed
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import DecisionResult, PedalPlan
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part

NO_DIAGRAMS = MarkingWishes(
    at_start=False,
    at_sections=False,
    at_glissandos=False,
    at_jumps=False,
    after_rest_bars=0,
    after_changes=0,
)


def places(part: HarpPart, stand: Stand) -> list[tuple[str, Place]]:
    """Text and place of every change, which must hold in replay."""
    plan = retimed(part, plan_changes(part), stand)
    assert replay(part, plan, place_marks(part, plan)) == []
    return [(change.text, change.place) for change in plan.changes]


SLOW = build_part("F4/h r/h", "r/w", "r/h F#4/h", tempo=60)
"""F natural, then nothing until F sharp on the third beat of the third bar."""


@pytest.mark.parametrize(
    ("stand", "bar", "offset"),
    [(Stand.AT_NEED, 2, 2), (Stand.BEAT_BEFORE, 2, 1), (Stand.BARLINE_BEFORE, 2, 0)],
)
def test_a_letter_stands_where_the_style_wants_it(stand: Stand, bar: int, offset: int) -> None:
    """At the note, on the beat before it, or at the barline before it (common practice)."""
    assert places(SLOW, stand) == [("F♯", Place(bar, Fraction(offset)))]


def test_planned_is_planned() -> None:
    """Without a wish the plan is the same value."""
    plan = plan_changes(SLOW)
    assert retimed(SLOW, plan, Stand.PLANNED) is plan


def test_a_letter_never_stands_before_the_last_note_in_the_old_position() -> None:
    """F natural is struck on beat 2½, F sharp needed on beat 3: no beat lies between."""
    part = build_part("r/q r/e F4/e F#4/h", tempo=60)
    for stand in Stand:
        ((text, place),) = places(part, stand)
        assert text == "F♯"
        assert place == Place(0, Fraction(2))


def test_a_held_note_keeps_its_pedal() -> None:
    """F natural sounds on until beat 3, so the barline of its bar is no place for F sharp."""
    part = build_part("F4/w~", "F4/h r/q F#4/q", tempo=60)
    assert places(part, Stand.BARLINE_BEFORE) == [("F♯", Place(1, Fraction(2)))]


def test_one_foot_moves_one_pedal_at_a_time() -> None:
    """Two pedals of the right foot are needed in one chord; one of them must go before it."""
    part = build_part("E4+F4/q r/q r/q r/q", "Eb4+F#4/h r/h", tempo=60)
    found = places(part, Stand.AT_NEED)
    assert {text for text, _ in found} == {"E♭", "F♯"}
    assert len({place for _, place in found}) == 2
    assert max(place for _, place in found) == Place(1, Fraction(0))


def test_what_a_repeat_needs_stays_before_its_sign() -> None:
    """F is set back to natural for the second time round, wherever letters stand."""
    part = build_part("F4/h r/h", "F#4/q r/h.", repeat_starts=(0,), repeats={1: 2}, tempo=60)
    for stand in Stand:
        found = places(part, stand)
        assert ("F♮", 1) in [(text, place.bar) for text, place in found]


def test_nothing_moves_to_where_the_opening_is_set() -> None:
    """At the first barline the pedals are set; a change there would be no change."""
    part = build_part("r/q F#4/q F4/q r/q", tempo=60)
    for stand in Stand:
        for _, place in places(part, stand):
            assert place != Place(0, Fraction(0))


def test_what_the_musician_has_decided_stays() -> None:
    """A change with a place of its own is not moved, nor one across a place decided about."""
    plan = plan_changes(SLOW)
    decided = replace(plan, changes=(replace(plan.changes[0], decided=True),))
    assert retimed(SLOW, decided, Stand.AT_NEED) is decided
    pinned = replace(plan, decisions=(DecisionResult("setting", Place(2, Fraction(1))),))
    (change,) = retimed(SLOW, pinned, Stand.AT_NEED).changes
    assert (change.place <= Place(2, Fraction(1))) == (
        plan.changes[0].place <= Place(2, Fraction(1))
    )


def test_seconds_are_those_of_the_new_place() -> None:
    """At 60 quarters a minute F sharp comes ten seconds after F natural was struck."""
    (change,) = retimed(SLOW, plan_changes(SLOW), Stand.AT_NEED).changes
    assert change.seconds_free == 10
    assert change.why.endswith("; the house style has moved its letter here.")
    assert change.elsewhere == ()


def holds(part: HarpPart, plan: PedalPlan) -> None:
    """Every way of letters gives every note on every pass, and the feet can do it."""
    for stand in Stand:
        moved = retimed(part, plan, stand)
        assert sorted(c.text for c in moved.changes) == sorted(c.text for c in plan.changes)
        for change in moved.changes:
            assert change.needed is None or change.place <= change.needed
            assert change.seconds_free is None or change.seconds_free >= 0
            assert (change.seconds_since_same_foot or 0) >= 0
        assert replay(part, moved, place_marks(part, moved)) == []
        bare = place_marks(part, moved, NO_DIAGRAMS)
        assert bare.diagrams == ()
        assert replay(part, moved, bare, key_opens=True) == []


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(parts(most_bars=4))
def test_every_way_of_letters_can_be_played(part: HarpPart) -> None:
    """The marks alone give every playable note on every pass, with and without diagrams."""
    holds(part, plan_changes(part))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.file)
def test_every_way_of_letters_can_be_played_in_the_examples(example: Example) -> None:
    """Repeats, a D.S. al Coda and a glissando among them."""
    part = read_part(example.path)
    holds(part, plan_changes(part))
