"""The neighbour that a trill adds can be decided like a note, and is written by ``plan --pin``."""

from __future__ import annotations

import pytest
from decided_plans import planned, refusals, told
from part_builder import build_part
from seeded_parts import trembling_part

from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.output.reports.decisions_text import decisions_text


def test_the_neighbour_of_a_trill_on_another_letter() -> None:
    """E beside D is F♭ where that is wanted, and stays E where it is not, at a higher price."""
    part = build_part("D5/wtr | r/q E#3/q r/q E#3/q", "r/w")
    assert [use.sounding.name for use in plan_changes(part).neighbours if use.sounding] == ["F♭"]

    plain = planned(
        part, 'respelling = [{ at = "1:1", note = "D5", neighbour = true, wanted = false }]'
    )
    assert refusals(plain) == []
    assert plain.neighbours == ()
    assert plain.cost > plan_changes(part).cost

    other = build_part("D5/wtr")
    wanted = planned(
        other, 'respelling = [{ at = "1:1", note = "D5", neighbour = true, played = "F♭" }]'
    )
    assert refusals(wanted) == []
    assert [use.sounding.name for use in wanted.neighbours if use.sounding] == ["F♭"]
    assert wanted.findings[0].what == "Play E beside D as F♭: so it was decided."


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ('note = "C5", played = "F♭"', "C5 has no ornament"),
        ('note = "D5", played = "D♯"', "D♯ does not sound E"),
        ('note = "F5"', "no F5 is played there, but C5, D5"),
    ],
)
def test_a_neighbour_that_is_not_there_is_refused(text: str, why: str) -> None:
    """C is the lower note of the trilled chord, and the trill is on the upper one."""
    part = build_part("C5+D5/wtr")
    plan = planned(part, f'respelling = [{{ at = "1:1", {text}, neighbour = true }}]')
    assert refusals(plan) == [why]


@pytest.mark.parametrize("seed", [37, 59, 95, 107, 157])
def test_a_plan_with_trills_that_is_pinned_is_the_plan(seed: int) -> None:
    """Their neighbours are named in the file too, if they are on another letter."""
    part = trembling_part(seed)
    plan = plan_changes(part)
    again = planned(part, decisions_text(part, plan))

    assert refusals(again) == []
    assert told(part, again) == told(part, plan)
    assert plan.neighbours
    assert again.neighbours == plan.neighbours
    assert again.strings == plan.strings
