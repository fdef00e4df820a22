"""The bill of a plan, which follows it once more, comes to what the search said it costs."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from example_scores import CHROMATIC_STUDY
from part_builder import build_part, edit
from seeded_parts import small_part, trembling_part

from pedalsetter.analysis.decisions.values import NO_DECISIONS
from pedalsetter.analysis.instrument.harp import Harp
from pedalsetter.analysis.part import HarpPart, Tremolo
from pedalsetter.analysis.planning import QUICK, USUAL, Weights, plan_changes
from pedalsetter.analysis.planning import attempt as attempts
from pedalsetter.analysis.planning.attempt import Attempt
from pedalsetter.analysis.planning.effort import Effort
from pedalsetter.analysis.planning.plan import _Planner
from pedalsetter.analysis.planning.weights import CROSSED, TWO_PEDALS
from pedalsetter.analysis.reading import read_part

FREE = replace(Weights(), crossed=CROSSED, two_pedals=TWO_PEDALS)


def tried(part: HarpPart, weights: Weights, effort: Effort) -> Attempt:
    """A plan as the search gives it, with its bill."""
    planner = _Planner(part, Harp(), weights, NO_DECISIONS, respell=True)
    return attempts.attempt(planner._source, planner._pins, effort)


@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("make", [small_part, trembling_part])
def test_the_bill_is_what_the_search_said(make: object, seed: int) -> None:
    """Notes, respellings, lost notes, haste and all: both reckon from the same prices."""
    part = make(seed)  # type: ignore[operator]
    for weights, effort in ((Weights(), USUAL), (Weights(), QUICK), (FREE, QUICK)):
        found = tried(part, weights, effort)
        assert found.bill.total == found.points
        assert found.bound <= found.points


def test_a_tremolo_does_not_hide_a_later_note_of_its_letter() -> None:
    """At 60 C4 trembles in eighths until half a second before C♯, and C5 comes after that.

    So the pedal has a quarter of a second, which is wanted by C5 and not by the tremolo.
    """
    part = edit(build_part("C4/h C#4/h | r/q r/e r/s C5/s r/h"), 0, tremolo=Tremolo("single", 1))
    change = plan_changes(part).changes[-1]
    assert (change.text, change.seconds_free) == ("C♯", Fraction(1, 4))


def test_notes_without_any_string_are_in_the_bill_and_in_the_bound() -> None:
    """A7 lies outside the compass and C1 has no pedal: the study loses them whatever the plan."""
    found = tried(read_part(CHROMATIC_STUDY.path), Weights(), QUICK)
    assert found.bill.total == found.points
    assert found.bill.terms["lost"] <= found.bound <= found.points
