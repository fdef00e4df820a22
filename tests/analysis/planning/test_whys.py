"""Reasons that are true: why a note is respelled, a decision refused, or a decision idle.

The truths are those of the notes: when the old position is last struck and until when it is
written to sound (common practice, no source), and where the plan itself has the pedal.
"""

from __future__ import annotations

import pytest
from decided_plans import planned, refusals
from part_builder import build_part

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.naming.places import place_named
from pedalsetter.analysis.pedal_plan import FindingKind, Severity
from pedalsetter.analysis.planning import plan_changes

RINGS = "the written letters would move a pedal under a note that is written to sound on"
CLASH = "the written letters would want one pedal in two positions at once"
TIME = "the written letters would give one foot too little time"


def change(at: str, pedal: str) -> str:
    """One change that is decided."""
    return f'[[change]]\nat = "{at}"\npedal = "{pedal}"\n'


@pytest.mark.parametrize(
    ("bars", "tempo", "why", "kind"),
    [
        # three seconds for the foot, and F natural sounds on
        (("r/h F#5/h | F3/w", "G4/w | C3/w"), 40, RINGS, FindingKind.RINGING),
        # the note itself sounds on where the next one needs its letter
        (("F#4/w | r/h F3/h", "G4/w | C3/w"), 40, RINGS, FindingKind.RINGING),
        (("G4+E4/w", "F4+F#5/h G4/h"), 60, CLASH, FindingKind.TWO_POSITIONS),
        # an eighth of a second, and nothing is held
        (("F4/s F#4/s r/e r/q r/h", "G4/w"), 120, TIME, FindingKind.FOOT_TOO_FAST),
    ],
)
def test_a_respelling_says_why_it_is_made(
    bars: tuple[str, ...], tempo: int, why: str, kind: FindingKind
) -> None:
    """The foot is blamed only where it is the foot that has no time."""
    plan = plan_changes(build_part(*bars, tempo=tempo))
    (finding,) = [one for one in plan.findings if one.what.startswith("Play ")]
    assert finding.what.endswith(f": {why}.")
    assert (finding.kind, finding.severity) == (kind, Severity.REMARK)


@pytest.mark.parametrize(
    ("bars", "at", "reason"),
    [
        (("F4/w", "F4/w"), "2:1", "the pedal stands at F♮ already"),
        (
            ("G4/h F4/h", "G4/q F#4/q G4/h"),
            "2:1",
            "the pedal stands at F♮ until then, and moves to F♯ there",
        ),
    ],
)
def test_a_change_to_where_the_pedal_stands_is_refused_as_the_plan_has_it(
    bars: tuple[str, ...], at: str, reason: str
) -> None:
    """The reason and the setting that the plan has there say the same."""
    part = build_part(*bars, tempo=60)
    plan = planned(part, change(at, "Fn"))
    assert refusals(plan) == [reason]
    pedal = f"F{plan.setting_at(place_named(part, at))[Letter.F].sign}"
    assert pedal in reason


def test_pins_that_serve_no_note_any_more_are_named() -> None:
    """E♯ was for an F that is now played as written: it and the E♮ after it can go."""
    part = build_part("G4+E4/w", "F4+A5/h G4/h", "E4+G4/w", "C4/w", tempo=60)
    decisions = 'respell = "never"\n' + change("2:1", "E#") + change("2:4", "En")
    plan = planned(part, decisions)
    assert refusals(plan) == []
    (finding,) = [one for one in plan.findings if one.kind is FindingKind.IDLE_DECISION]
    assert finding.what == (
        "E♯ in bar 2, beat 1 is moved only because it is decided: no note needs it before E♮ in "
        "bar 2, beat 4."
    )
    assert finding.mend == (
        "Take 'change E♯ in bar 2, beat 1' and 'change E♮ in bar 2, beat 4' out of the decisions, "
        "if those decisions serve nothing else."
    )
    without = planned(part, 'respell = "never"\n')
    assert not [one for one in without.findings if one.kind is FindingKind.IDLE_DECISION]
    assert len(without.changes) < len(plan.changes)


def test_a_pin_for_a_note_that_needs_it_no_more_says_so() -> None:
    """A change that was decided for the F on E♯ is not needed by the F as written."""
    part = build_part("G4+E4/w", "F4+A5/h G4/h", "E4+G4/w", "C4/w", tempo=60)
    pin = change("2:1", "E#") + 'needed = { at = "2:1" }\n'
    plan = planned(part, 'respell = "never"\n' + pin)
    assert refusals(plan) == ["no note needs E♯ after it; the decision can go"]


def test_pins_that_serve_a_note_are_not() -> None:
    """With F♯ beside it the F is played on E♯, and the pins are what plays it."""
    part = build_part("G4+E4/w", "F4+F#5/h G4/h", "E4+G4/w", "C4/w", tempo=60)
    played = '[[respelling]]\nat = "2:1"\nnote = "F4"\nplayed = "E#"\n'
    plan = planned(part, played + change("2:1", "E#") + change("2:4", "En"))
    assert refusals(plan) == []
    assert not [one for one in plan.findings if one.kind is FindingKind.IDLE_DECISION]
