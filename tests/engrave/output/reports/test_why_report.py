"""Why the pedals move near a bar."""

from __future__ import annotations

import pytest
from part_builder import build_part

from pedalsetter.analysis.decisions.file import parse_decisions
from pedalsetter.analysis.errors import PlaceError
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.output.reports.why_report import why_lines

TUNE = build_part("C4/q D4/q E4/q F4/q", "G4/q A4/q F#4/q G4/q", "G4/w", "F4/q C#4/q C4/q B4/q")


def test_a_change_tells_need_time_foot_and_choice() -> None:
    """Needed by which note, free since which, what else the foot does, where else it could be."""
    assert why_lines(TUNE, plan_changes(TUNE, elsewhere=True), "2") == (
        "F♯ (from F♮), right foot, in bar 2, beat 2",
        "  needed      in bar 2, beat 3 by F♯4",
        "  free        since bar 1, beat 4, the last note on F♮, 2.00 s before the pedal moves",
        "  the foot    has not moved before; moves F♮ in bar 3, beat 4 next",
        "  elsewhere   bar 2, beat 1 (about as good); bar 2, beat 3 (a little worse)",
    )


def test_a_change_needed_in_the_bar_is_told_though_made_before_it() -> None:
    """F♮ is made in bar 3 and needed in bar 4: it belongs to both."""
    plan = plan_changes(TUNE, elsewhere=True)

    for bar in ("3", "4"):
        lines = why_lines(TUNE, plan, bar)
        assert lines[0] == "F♮ (from F♯), right foot, in bar 3, beat 4"
        assert lines[1] == "  needed      in bar 4, beat 1 by F4"
        assert "moved F♯ in bar 2, beat 2, 6.00 s before" in lines[3]
    assert "does not move again" in why_lines(TUNE, plan, "3")[3]


def test_the_other_places_cost_what_deciding_them_costs() -> None:
    """Where nothing else moves nearby, the price told is the price paid."""
    plan = plan_changes(TUNE, elsewhere=True)
    change = plan.changes[0]
    for place, more in change.elsewhere:
        at = f"{TUNE.printed_bar(place.bar)}:{TUNE.printed_beat(place)}"
        text = f'change = [{{ at = "{at}", pedal = "{change.text}" }}]'
        decided = plan_changes(TUNE, decisions=parse_decisions(text))
        assert decided.cost - plan.cost == more


def test_a_decided_place_is_told_with_what_the_others_cost() -> None:
    """Other places of a decided change cost what deciding them instead would; some cost less."""
    decisions = parse_decisions('change = [{ at = "2:3", pedal = "F♯" }]')
    plan = plan_changes(TUNE, decisions=decisions, elsewhere=True)
    lines = why_lines(TUNE, plan, "2")

    assert lines[0] == "F♯ (from F♮), right foot, in bar 2, beat 3, as decided"
    assert lines[4].startswith("  elsewhere   bar 2, beat 2 (better); bar 2, beat 1 (better)")
    for place, more in plan.changes[0].elsewhere:
        at = f"{TUNE.printed_bar(place.bar)}:{TUNE.printed_beat(place)}"
        instead = parse_decisions(f'change = [{{ at = "{at}", pedal = "F♯" }}]')
        assert plan_changes(TUNE, decisions=instead).cost - plan.cost == more


def test_a_bar_without_changes_tells_its_setting() -> None:
    """Nothing moves in bar 1."""
    assert why_lines(TUNE, plan_changes(TUNE), "1") == (
        "Bar 1: no pedal moves, and no change is needed. D♮ C♮ B♮ | E♮ F♮ G♮ A♮",
    )


def test_a_bar_that_is_not_there_is_told() -> None:
    """The error names the bars that there are."""
    with pytest.raises(PlaceError, match=r"there is no bar 9\. Its bars go from 1 to 4"):
        why_lines(TUNE, plan_changes(TUNE), "9")
