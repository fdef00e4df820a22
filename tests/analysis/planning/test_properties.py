"""What holds for every plan, whatever the music."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from part_strategies import parts
from replay import replay, unfold

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import Severity
from pedalsetter.analysis.planning import QUICK, plan_changes
from pedalsetter.analysis.playing.playing_order import playing_order

_planned = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
_unfolded = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@_planned
@given(parts(most_bars=4))
def test_what_holds_for_every_plan(part: HarpPart) -> None:
    """The marks alone give every playable note on every pass, and the feet can obey them.

    No foot moves two pedals at one place but with the diagram of a section, a change really
    changes, none stands after the first note that needs it, and a note without a string is named
    by a finding.
    """
    plan = plan_changes(part)
    assert replay(part, plan, place_marks(part, plan)) == []
    sections = {section.bar for section in part.sections}
    places = [
        (change.place, change.foot)
        for change in plan.changes
        # The diagram of a section tells several, which are set one after the other before it.
        if change.place.offset or change.place.bar not in sections
    ]
    assert len(places) == len(set(places))
    assert all(change.old is not change.new for change in plan.changes)
    assert list(plan.changes) == sorted(plan.changes, key=lambda change: change.place)
    assert all(change.needed is None or change.place <= change.needed for change in plan.changes)
    told = {
        note
        for finding in plan.findings
        if finding.severity is Severity.UNPLAYABLE
        for note in finding.notes
    }
    assert {use.note for use in plan.strings.values() if use.sounding is None} <= told
    quick = plan_changes(part, effort=QUICK)
    assert replay(part, quick, place_marks(part, quick)) == []
    assert plan.cost <= quick.cost


@settings(_planned, max_examples=8)
@given(parts(most_bars=3))
def test_the_same_music_gives_the_same_plan(part: HarpPart) -> None:
    """Planning has no chance in it."""
    assert plan_changes(part) == plan_changes(part)


@_unfolded
@given(parts())
def test_two_interpreters_unfold_alike(part: HarpPart) -> None:
    """Repeats, endings and jumps are unfolded alike by two programs written apart."""
    assert [visit.bar for visit in playing_order(part).visits] == list(unfold(part))
