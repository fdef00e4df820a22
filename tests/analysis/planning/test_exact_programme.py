"""Plans are the cheapest there are, strings, moves and settings at repeats all free.

Held against a plain programme over all states of both feet (``exact_programme``), which is itself
held against a general constraint solver (OR-tools CP-SAT, ``exact_solver``). The comparison of
hundreds of parts is ``tests/benchmarks/exact_comparison.py``.
"""

from __future__ import annotations

import pytest
from exact_programme import least_cost
from exact_solver import least_points
from part_builder import build_part
from seeded_parts import counted_part, sectioned_part, small_part

from pedalsetter.analysis.planning import Weights, plan_changes

POINTS = Weights().change


@pytest.mark.parametrize("seed", [0, 3, 5, 12, 14, 19, 21])
def test_no_plan_of_a_small_part_is_cheaper(seed: int) -> None:
    """Parts of up to 24 onsets, three of them with a repeat, cost what the programme says."""
    part = small_part(seed, most_onsets=12)
    plan = plan_changes(part)
    points = int(plan.cost * POINTS)
    assert least_cost(part, Weights(), points) == points
    assert plan.proved_optimal


@pytest.mark.parametrize("seed", [0, 14])
def test_no_plan_of_a_part_of_many_onsets_is_cheaper(seed: int) -> None:
    """Parts of 12 to 24 onsets."""
    part = counted_part(seed)
    points = int(plan_changes(part).cost * POINTS)
    assert least_cost(part, Weights(), points) == points


@pytest.mark.parametrize("seed", [1, 3, 6, 9, 12, 15, 18, 24])
def test_no_plan_of_a_part_with_sections_is_cheaper(seed: int) -> None:
    """Diagrams that tell changes, in rests and where a repeat begins too, cost what is documented.

    Seven of the parts have a repeat.
    """
    part = sectioned_part(seed, most_onsets=12)
    plan = plan_changes(part)
    points = int(plan.cost * POINTS)
    assert least_cost(part, Weights(), points) == points
    assert plan.proved_optimal


@pytest.mark.parametrize("seed", [101, 102, 108])
def test_two_exact_searches_agree(seed: int) -> None:
    """The programme and the constraint solver, neither told of a plan, find the same least cost."""
    part = small_part(seed, most_onsets=4)
    assert least_cost(part, Weights()) == least_points(part, Weights())


def test_a_plan_that_costs_less_than_possible_is_found_out() -> None:
    """Told of a plan cheaper than the cheapest, the programme answers that there is none."""
    part = small_part(102, most_onsets=4)
    least = least_cost(part, Weights())
    assert least > 0
    assert least_cost(part, Weights(), known=least - 1) == least


def test_a_pedal_goes_straight_from_note_to_note() -> None:
    """Not even a dear stroke of two notches is made in two: no note would ask for the first mark.

    The programme, the constraint solver and the plan have the same rule.
    """
    part = build_part("Fb4/w", "F#4/w", tempo=60)
    dear = Weights(second_notch=1_000, respelled=5_000)
    plan = plan_changes(part, weights=dear)
    assert [change.text for change in plan.changes] == ["F♯"]
    assert least_cost(part, dear) == least_points(part, dear) == plan.cost * dear.change


def test_two_moves_for_one_note_would_be_cheaper_where_the_foot_is_hurried() -> None:
    """A part whose cheapest plan would stop at G♮ between G♯ and G♭ but for that rule."""
    part = small_part(250)
    plan = plan_changes(part)
    assert plan.proved_optimal
    assert least_cost(part, Weights(), int(plan.cost * 100)) == plan.cost * 100
