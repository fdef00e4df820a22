"""How far a plan may be from the best one: in words and in the document."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from part_builder import build_part

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import plan_as_written, plan_changes
from pedalsetter.engrave.output.reports.best_told import best_told
from pedalsetter.engrave.output.reports.plan_document import plan_document


def plan_between(bound: Fraction, cost: Fraction) -> PedalPlan:
    """A plan of which these two are known."""
    return PedalPlan((), (), {}, (), cost=cost, bound=bound)


@pytest.mark.parametrize(
    ("bound", "told"),
    [
        (Fraction(100), "No better plan was found."),
        (Fraction(999, 10), "A better plan would be less than 1 % better."),
        (Fraction(99), "No plan is more than 1 % better."),
        (Fraction(989, 10), "No plan is more than 2 % better."),
        (Fraction(50), "No plan is more than 50 % better."),
        (Fraction(1, 3), "No plan is more than 100 % better."),
        (Fraction(0), "How much better a plan could be is not known."),
    ],
)
def test_per_cent_are_whole_and_never_too_few(bound: Fraction, told: str) -> None:
    """Of a cost of 100 that has another bound each time."""
    assert best_told(plan_between(bound, Fraction(100))) == told


def test_the_best_plan_is_called_so() -> None:
    """Where it is proved, and where there is nothing that could cost less."""
    part = build_part("F4/h F#4/h")
    assert best_told(plan_changes(part)) == "No plan is better."
    assert best_told(plan_changes(build_part("C4/w"))) == "No plan is better."


def test_the_document_has_the_bound() -> None:
    """A number beside the total, the same where the plan is proved; null where none is known."""
    part = build_part("F4/h F#4/h", "F4/w")
    plan = plan_changes(part)

    def cost(of: PedalPlan) -> dict[str, object]:
        found: dict[str, object] = plan_document(part, of, place_marks(part, of))["cost"]
        return found

    assert cost(plan)["bound"] == cost(plan)["total"]
    assert cost(plan)["proved_optimal"] is True
    assert cost(plan)["told"] == "No plan is better."
    far = replace(plan, proved_optimal=False, bound=plan.cost * Fraction(9, 10))
    assert cost(far)["bound"] == round(float(plan.cost) * 0.9, 3)
    assert cost(far)["told"] == "No plan is more than 10 % better."
    written = plan_as_written(part)
    assert (cost(written)["bound"], cost(written)["proved_optimal"]) == (None, False)
