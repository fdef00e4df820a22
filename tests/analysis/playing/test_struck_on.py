"""Trills and tremolos strike to their end, so that is what a pedal has to wait for.

That both notes of a trill are demanded for its whole length is common practice, no source; so is
the reading of strokes through a stem.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from exact_programme import least_cost
from part_builder import build_part, edit
from seeded_parts import trembling_part

from pedalsetter.analysis.decisions.values import ChangePin, Decisions
from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.part import NotatedLength, Ornament, SpannerEnd, Tremolo
from pedalsetter.analysis.pedal_plan import FindingKind
from pedalsetter.analysis.planning import Weights, plan_changes
from pedalsetter.analysis.playing.sustained import stroke_length
from pedalsetter.engrave.output.reports.decisions_text import spot_at

HALF, QUARTER = NotatedLength(1), NotatedLength(2)


def test_a_pedal_cannot_move_at_the_end_of_a_trill() -> None:
    """A♮ trembles up to the very stroke that wants A♭; G♯ is no way out, for G♮ is struck too."""
    plan = plan_changes(build_part("G4/htr Ab4+G4/h"))
    (change,) = plan.changes
    assert (change.text, change.seconds_free, change.struck_on) == ("A♭", 0, True)
    (finding,) = plan.findings
    assert finding.kind is FindingKind.FOOT_TOO_FAST
    assert finding.what == (
        "A♭ comes too fast for the right foot: the trill on G4 goes on right up to there."
    )
    assert "A♮ was needed until 0.00 s before the pedal moves (the trill on G4)" in change.why


def test_where_the_strings_allow_it_another_one_is_taken_at_the_end_of_a_trill() -> None:
    """E♯ right after a trill of D and E: the F string is free, and no pedal has to move."""
    plan = plan_changes(build_part("D4/htr E#4/h"))
    assert [use.sounding.name for use in plan.respelled if use.sounding] == ["F♮"]
    assert plan.changes == ()


def test_the_time_is_counted_from_the_end_of_the_trill() -> None:
    """A rest of an eighth, half a second at 60, is time enough."""
    plan = plan_changes(build_part("G4/htr r/e Ab4+G4/e r/q"))
    (change,) = plan.changes
    assert (change.seconds_free, change.place.offset) == (Fraction(1, 2), Fraction(5, 2))
    assert plan.findings == ()


def test_a_pedal_may_move_right_after_a_plain_note_of_the_same_length() -> None:
    """The same without the trill: its last stroke is two seconds ago."""
    plan = plan_changes(build_part("A4/h Ab4+G4/h"))
    (change,) = plan.changes
    assert change.seconds_free == 2
    assert not change.struck_on


def test_a_trill_lasts_as_long_as_its_note_is_tied() -> None:
    """A♮ is still wanted in the second bar, where only the tie goes on."""
    plan = plan_changes(build_part("G4/wtr~", "G4/h r/e Ab3+G3/e r/q"))
    (change,) = plan.changes
    assert (change.seconds_free, change.place) == (Fraction(1, 2), change.needed)
    assert plan.movements[0].opening[Letter.A] is Position.NATURAL


@pytest.mark.parametrize(("last", "end"), [("G4", 6), ("C5", 4)], ids=["same", "other"])
def test_a_trill_lasts_as_long_as_its_wavy_line(last: str, end: int) -> None:
    """To the end of the last note if it has the same pitch, else to its beginning."""
    part = build_part("G4/htr r/h", f"{last}/h r/e Ab3+G3/e r/q")
    events = [event for event in part.events if event.heads]
    line = [SpannerEnd("wavy-line", 1, start) for start in (True, False)]
    part = edit(part, part.events.index(events[0]), spanners=(line[0],), ornaments=())
    part = edit(part, part.events.index(events[1]), spanners=(line[1],))
    (change,) = plan_changes(part).changes
    assert change.text == "A♭"
    assert change.seconds_free == 4 + change.place.offset - end


def test_a_short_trill_strikes_to_its_end_too() -> None:
    """No moment stands inside it, and the strings of its notes are still open."""
    plan = plan_changes(build_part("r/h G4/qtr Ab4+G4/q"))
    (change,) = plan.changes
    assert (change.seconds_free, change.struck_on) == (0, True)


def test_a_turn_is_done_when_it_begins() -> None:
    """Its neighbours are struck once, at the onset for all that is known."""
    part = edit(build_part("G4/h Ab4+G4/h"), 0, ornaments=(Ornament("inverted-mordent"),))
    (change,) = plan_changes(part).changes
    assert (change.seconds_free, change.struck_on) == (2, False)


@pytest.mark.parametrize(
    ("tremolo", "notated", "length"),
    [
        (Tremolo("single", 1), HALF, Fraction(1, 2)),
        (Tremolo("single", 2), QUARTER, Fraction(1, 4)),
        (Tremolo("single", 1), NotatedLength(3), Fraction(1, 4)),
        (Tremolo("start", 3), HALF, Fraction(1, 8)),
        (Tremolo("single", 4), HALF, Fraction(0)),
        (Tremolo("single", 3), NotatedLength(3), Fraction(0)),
        (Tremolo("unmeasured", 0), HALF, Fraction(0)),
        (Tremolo("single", 0), HALF, Fraction(0)),
        (None, HALF, Fraction(0)),
    ],
)
def test_strokes_through_the_stem_halve_the_quarter(
    tremolo: Tremolo | None, notated: NotatedLength, length: Fraction
) -> None:
    """Flags count as strokes; more than three of both keep no measure."""
    event = replace(build_part("G4/h").events[0], tremolo=tremolo, notated=notated)
    assert stroke_length(event) == length


def test_a_measured_tremolo_is_struck_last_one_stroke_before_its_end() -> None:
    """A half note of eighths at 60: the last stroke is half a second before the end."""
    part = edit(build_part("A4/h Ab4+G4/h"), 0, tremolo=Tremolo("single", 1))
    (change,) = plan_changes(part).changes
    assert (change.seconds_free, change.struck_on) == (Fraction(1, 2), True)


def test_on_a_later_pass_the_trill_at_the_end_of_the_repeat_counts() -> None:
    """The first chord wants A♭ right after the trill: no pass but the first has time."""
    plan = plan_changes(build_part("Ab4+G4/h r/h", "r/h G4/htr", repeats={1: 2}))
    assert [finding.kind for finding in plan.findings] == [FindingKind.FOOT_TOO_FAST]


@pytest.mark.parametrize("seed", range(80))
def test_no_change_stands_better_elsewhere(seed: int) -> None:
    """A proved plan gets no cheaper if a change is decided to be made somewhere else.

    And it costs no more than was foretold for that change alone, for the others may follow.
    """
    part = trembling_part(seed)
    plan = plan_changes(part, elsewhere=True)
    for change in plan.changes if plan.proved_optimal else ():
        for place, more in change.elsewhere[:3]:
            pin = ChangePin(spot_at(part, place), change.letter, change.new)
            other = plan_changes(part, decisions=Decisions(pins=(pin,)))
            if not any(result.refused for result in other.decisions):
                assert plan.cost <= other.cost
                assert other.cost <= plan.cost + more or not other.proved_optimal


def test_the_parts_made_by_chance_have_what_they_are_for() -> None:
    """Nearly all plans are proved, and feet wait for trills and tremolos in many."""
    plans = [plan_changes(trembling_part(seed)) for seed in range(80)]
    assert sum(plan.proved_optimal for plan in plans) >= 76
    assert sum(any(change.struck_on for change in plan.changes) for plan in plans) >= 25
    assert sum(bool(plan.respelled) for plan in plans) >= 25
    assert sum(bool(plan.neighbours) for plan in plans) >= 1


@pytest.mark.parametrize("seed", range(30))
def test_no_plan_with_trills_is_cheaper(seed: int) -> None:
    """The strings of trills, tremolos and their neighbours are chosen with all others.

    Held against the plain programme over all states of both feet, which reads trills for itself.
    """
    part = trembling_part(seed)
    plan = plan_changes(part)
    points = int(plan.cost * Weights().change)
    assert least_cost(part, Weights(), points) == points
    assert plan.proved_optimal


def test_the_neighbour_of_a_trill_that_is_played_on_another_letter_is_told() -> None:
    """E beside D as F♭ lets the E pedal stand for both E♯ of the bass, which costs one letter."""
    part = build_part("D5/wtr | r/q E#3/q r/q E#3/q", "r/w")
    plan = plan_changes(part)
    assert [use.sounding.name for use in plan.neighbours if use.sounding] == ["F♭"]
    assert plan.respelled == ()
    told = [finding.what for finding in plan.findings]
    assert told == [
        "Play E beside D as F♭: the written letters would move a pedal under a note that is "
        "written to sound on."
    ]
    assert plan.cost == Weights().respelled / Fraction(Weights().change)
    assert plan.proved_optimal


def test_the_neighbour_goes_before_a_written_note_does() -> None:
    """G, G♯ and A at once: A♭ is free for G♯, but then the trill has no A (no string of three)."""
    part = build_part("r/w", "G4+G#4/wtr", "r/w")
    plan = plan_changes(part)
    assert [use.sounding.name for use in plan.strings.values() if use.sounding] == ["G♮", "A♭"]
    assert "A beside G♯ cannot sound" in plan.findings[0].what
    assert plan.findings[0].mend == "Leave out the ornament, or give it to another instrument."
