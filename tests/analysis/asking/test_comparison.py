"""Two plans compared: what is gone, what is new. Small scores by hand; common practice."""

from __future__ import annotations

from dataclasses import replace

from part_builder import build_part

from pedalsetter.analysis.asking.comparison import compare_plans
from pedalsetter.analysis.findings import with_all_findings
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import FindingKind, PedalPlan
from pedalsetter.analysis.planning import plan_changes

STUCK = "G4+Ab4+A4/w"
"""The only three notes that no setting sounds together: both strings for A♭ are taken."""
NOT_TOGETHER = {FindingKind.TWO_POSITIONS, FindingKind.NO_SETTING}


def planned(*bars: str) -> tuple[HarpPart, PedalPlan]:
    """A part of these bars, and its plan with all findings."""
    part = build_part(*bars, tempo=60)
    return part, with_all_findings(part, plan_changes(part))


def test_the_same_twice_is_the_same() -> None:
    """Nothing gone, nothing new, no change saved."""
    one = planned("C4/w", STUCK)
    told = compare_plans(one, planned("C4/w", STUCK))

    assert told.same
    assert told.unplayable[0] == told.unplayable[1] == 1


def test_a_mended_chord_is_gone() -> None:
    """Without the A♭ the chord can be played: one finding is gone and none is new."""
    told = compare_plans(planned("C4/w", STUCK), planned("C4/w", "G4+A4/w"))

    assert len(told.gone) == 1
    assert told.gone[0].kind in NOT_TOGETHER
    assert told.new == ()
    assert told.unplayable == (1, 0)
    assert told.cost[1] < told.cost[0]
    assert not told.same


def test_a_new_clash_is_new() -> None:
    """The way back: the finding is new."""
    told = compare_plans(planned("C4/w", "G4+A4/w"), planned("C4/w", STUCK))

    assert told.gone == ()
    assert len(told.new) == 1
    assert told.new[0].kind in NOT_TOGETHER


def test_bars_put_in_before_move_a_finding_but_make_none() -> None:
    """With two more bars in front, the clash stands at bar 4 and is still the same one."""
    told = compare_plans(planned("C4/w", STUCK), planned("C4/w", "C4/w", "C4/w", STUCK))

    assert (told.gone, told.new) == ((), ())


def test_a_second_clash_of_the_same_kind_is_new() -> None:
    """Findings are paired one to one: the old one keeps its place."""
    told = compare_plans(planned(STUCK, "C4/w"), planned(STUCK, STUCK))

    assert told.gone == ()
    assert [finding.place.bar for finding in told.new] == [1]


def test_changes_are_counted() -> None:
    """F, F♯, F, F♯ needs changes; with G♭ for F♯ none, though no finding tells it."""
    before = planned("F4/w", "F#4/w", "F4/w", "F#4/w")
    after = planned("F4/w", "Gb4/w", "F4/w", "Gb4/w")
    told = compare_plans(before, after)

    assert told.changes == (len(before[1].changes), 0)
    assert told.same is (not before[1].changes)


def test_remarks_do_not_count() -> None:
    """A double alteration is played on its equivalent: worth a remark, not a finding."""
    told = compare_plans(planned("A4/w"), planned("Bbb4/w"))

    assert (told.gone, told.new) == ((), ())


def test_findings_of_one_place_are_told_apart_by_staff() -> None:
    """The same sentence about another staff is another finding."""
    part, plan = planned(STUCK)
    other = replace(
        plan,
        findings=tuple(
            replace(one, staff=2) if one.kind in NOT_TOGETHER else one for one in plan.findings
        ),
    )
    told = compare_plans((part, plan), (part, other))

    assert len(told.gone) == len(told.new) == 1
