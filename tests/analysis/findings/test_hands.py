"""Fingers and spans: what two hands can pluck at once."""

from __future__ import annotations

from dataclasses import replace

import pytest
from part_builder import build_part

from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.analysis.findings import Limits, judge_playing
from pedalsetter.analysis.part import Arpeggio, HarpPart
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, Severity
from pedalsetter.analysis.planning import plan_changes


def judged(part: HarpPart) -> tuple[Finding, ...]:
    """What is hard for the hands and the strings of a part."""
    return judge_playing(part, plan_changes(part))


def rolled(part: HarpPart, kind: str) -> HarpPart:
    """The part with a sign before every chord."""
    events = tuple(
        replace(event, arpeggio=Arpeggio(kind)) if len(event.heads) > 1 else event
        for event in part.events
    )
    return replace(part, events=events)


def test_four_notes_in_each_hand_within_a_tenth_are_no_finding() -> None:
    """Eight fingers pluck eight notes (Rimsky-Korsakov, *Principles*, ch. I, "Harp")."""
    assert judged(build_part("C4+E4+G4+E5/w | C2+G2+C3+E3/w")) == ()


def test_nine_notes_at_once_are_more_than_two_hands_have_fingers_for() -> None:
    """Four notes a hand, eight in all (Rimsky-Korsakov, *Principles*, ch. I, "Harp")."""
    (finding,) = judged(build_part("C4+D4+E4+G4+A4/w | C2+E2+G2+C3/w"))

    assert (finding.kind, finding.severity) == (FindingKind.HAND_FULL, Severity.UNPLAYABLE)
    assert finding.what == (
        "Nine strings are plucked at once (C2, E2, G2, C3, C4, D4, E4, G4 and A4), and two hands "
        "have eight fingers for them."
    )
    assert len(finding.notes) == 9


def test_nine_notes_rolled_are_risky_only() -> None:
    """In a roll a hand may let go and pluck again (common practice, no source)."""
    part = rolled(build_part("C4+D4+E4+G4+A4/w | C2+E2+G2+C3/w"), "plain")

    (finding,) = judged(part)

    assert finding.severity is Severity.RISKY


def test_the_other_hand_takes_a_note_from_the_other_staff() -> None:
    """Five notes on one staff are two hands' work when the other hand is free or near."""
    assert judged(build_part("C4+E4+G4+B4+D5/w | r/w")) == ()
    assert judged(build_part("E4+G4+B4+D5+G5/w | C4/w")) == ()


def test_a_hand_with_five_notes_cannot_be_helped_from_far_away() -> None:
    """Six low notes and two high ones: the right hand cannot reach down two octaves."""
    (finding,) = judged(build_part("C6+E6/w | C2+E2+G2+A2+C3+D3/w"))

    assert (finding.kind, finding.severity) == (FindingKind.HAND_FULL, Severity.UNPLAYABLE)
    assert finding.staff == 2
    assert finding.what == (
        "The left hand has six notes (C2, E2, G2, A2, C3 and D3) for four fingers, and the other "
        "hand cannot reach any of them."
    )


@pytest.mark.parametrize(
    ("low", "sign", "severity"),
    [
        ("C2", None, None),
        ("B1", None, Severity.UNCOMFORTABLE),
        ("A1", None, Severity.UNCOMFORTABLE),
        ("A1", "plain", Severity.REMARK),
        ("C1", None, Severity.RISKY),
        ("C1", "up", Severity.UNCOMFORTABLE),
        ("C1", "bracket", Severity.UNPLAYABLE),
    ],
)
def test_a_hand_spans_a_tenth(low: str, sign: str | None, severity: Severity | None) -> None:
    """A tenth is comfortable; an eleventh or twelfth is for some; more can only be broken.

    Common practice, no source; that a sign can forbid breaking: Rimsky-Korsakov, *Principles*,
    ch. I, "Harp".
    """
    part = build_part(f"C5+E5+G5+E6/w | {low}+E3/w")
    if sign is not None:
        part = rolled(part, sign)

    found = judged(part)

    assert [one.severity for one in found] == ([severity] if severity else [])
    assert {one.kind for one in found} <= {FindingKind.WIDE_SPAN}


def test_a_span_is_judged_by_hand_and_not_by_staff() -> None:
    """Bass and chord on one staff, the other hand free: two hands play it."""
    assert judged(build_part("r/w | C2+G3+C4+E4/w")) == ()


def test_voices_that_meet_on_one_string_pluck_it_once() -> None:
    """A unison of two voices is one string and one finger."""
    assert judged(build_part("C4+E4+G4+C5/w | C3+E3+G3+C4/w")) == ()


def test_the_player_may_set_other_limits() -> None:
    """Spans vary by player."""
    part = build_part("C5+E5+G5+E6/w | B1+E3/w")
    plan = plan_changes(part)

    assert judge_playing(part, plan, limits=Limits(comfortable_span=11)) == ()
    with pytest.raises(DecisionsError, match="the limits of the hands contradict each other"):
        Limits(comfortable_span=13)
    with pytest.raises(DecisionsError, match="the limits of repeated notes and runs"):
        Limits(repeats=1)
