"""What holds for every plan, whatever the music."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from part_strategies import parts
from replay import replay, unfold

from pedalsetter.analysis.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import Severity
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.planning.playing_order import playing_order

_many = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@_many
@given(parts())
def test_the_printed_marks_alone_give_every_playable_note(part: HarpPart) -> None:
    """Whoever obeys the marks hears every note as written, on every pass."""
    plan = plan_changes(part)
    assert replay(part, plan, place_marks(part, plan)) == []


@_many
@given(parts())
def test_a_foot_is_in_one_place(part: HarpPart) -> None:
    """No foot moves two pedals at one place, and a change really changes."""
    plan = plan_changes(part)
    places = [(change.place, change.foot) for change in plan.changes]
    assert len(places) == len(set(places))
    assert all(change.old is not change.new for change in plan.changes)
    assert list(plan.changes) == sorted(plan.changes, key=lambda change: change.place)


@_many
@given(parts())
def test_every_change_is_made_by_the_time_it_is_needed(part: HarpPart) -> None:
    """A change never stands after the first note that needs it."""
    for change in plan_changes(part).changes:
        assert change.needed is None or change.place <= change.needed


@_many
@given(parts(most_bars=3))
def test_the_same_music_gives_the_same_plan(part: HarpPart) -> None:
    """Planning has no chance in it."""
    assert plan_changes(part) == plan_changes(part)


@_many
@given(parts())
def test_silent_notes_are_told(part: HarpPart) -> None:
    """Every note has a string, or a finding names it."""
    plan = plan_changes(part)
    told = {
        note
        for finding in plan.findings
        if finding.severity is Severity.UNPLAYABLE
        for note in finding.notes
    }
    silent = {use.note for use in plan.strings.values() if use.sounding is None}
    assert silent <= told


@_many
@given(parts())
def test_two_interpreters_unfold_alike(part: HarpPart) -> None:
    """Repeats, endings and jumps are unfolded alike by two programs written apart."""
    assert [visit.bar for visit in playing_order(part).visits] == list(unfold(part))
