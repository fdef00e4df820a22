"""The plan is the optimum: held against an independent exact solver and the quick planner."""

from __future__ import annotations

import pytest
from exact_solver import least_points
from part_builder import build_part
from replay import replay
from seeded_parts import small_bars, small_part

from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.analysis.marking import place_marks
from pedalsetter.analysis.planning import Weights, plan_as_written, plan_changes

POINTS = Weights().change


@pytest.mark.parametrize("seed", range(18))
def test_no_schedule_is_cheaper_for_the_strings_chosen(seed: int) -> None:
    """Opening, settings at repeats and every moment: as cheap as OR-tools CP-SAT can make them."""
    part = small_part(seed, most_onsets=8)
    plan = plan_changes(part)
    points = int(plan.cost * POINTS)
    strings = {note: use.sounding for note, use in plan.strings.items()}
    assert least_points(part, Weights(), strings, known=points) == points


@pytest.mark.parametrize("seed", range(100, 112))
def test_no_plan_at_all_is_cheaper_where_the_plan_says_so(seed: int) -> None:
    """With the strings free too, a plan called proved is the cheapest that CP-SAT can find."""
    part = small_part(seed, most_onsets=5)
    plan = plan_changes(part)
    points = int(plan.cost * POINTS)
    assert least_points(part, Weights(), known=points) == points
    assert plan.proved_optimal


@pytest.mark.parametrize("seed", [*range(0, 90, 3), 222])
def test_strings_and_settings_at_repeats_are_chosen_together(seed: int) -> None:
    """Music with repeats too is planned to a proof: its bound and its bill are the same points.

    The bound comes from following both feet from moment to moment, the bill from changes placed one
    by one; a third of the parts is held against CP-SAT as well.
    """
    part = small_part(seed, most_onsets=8)
    plan = plan_changes(part)
    assert plan.proved_optimal
    if seed % 9 == 0 or seed == 222:
        points = int(plan.cost * POINTS)
        assert least_points(part, Weights(), known=points) == points


def test_a_search_that_is_given_up_leaves_a_correct_plan() -> None:
    """A run that no foot can follow: the plan comes out and does not call itself proved."""
    run = "C4 C#4 D4 D#4 E4 F4 F#4 G4 G#4 A4 A#4 B4 C5 C#5 D5 D#5"
    bar = " ".join(f"{name}/s" for name in run.split())
    down = " ".join(f"{name}/s" for name in reversed(run.split()))
    part = build_part(*[bar, down] * 6, tempo=160)
    plan = plan_changes(part)
    assert not plan.proved_optimal
    assert plan.cost <= plan_as_written(part).cost
    assert replay(part, plan, place_marks(part, plan)) == []


@pytest.mark.parametrize("seed", [1, 2, 4, 5, 7, 8, 10, 11, 13, 14, 16, 17, 19, 20])
def test_a_bar_of_rest_never_raises_the_cost(seed: int) -> None:
    """More time for the feet is never worse, wherever it is given."""
    bars, options = small_bars(seed, most_onsets=10)
    bars = [bar.replace("~", "") for bar in bars]
    cost = plan_changes(build_part(*bars, **options)).cost
    for place in range(1, len(bars)):
        rested = build_part(*bars[:place], "r/w", *bars[place:], **options)
        assert plan_changes(rested).cost <= cost


def test_the_terms_add_up_to_the_cost() -> None:
    """The cost is told by term, one change being 1."""
    plan = plan_changes(build_part("F4/q C4/q F#4/q C#4/q", "F4/h G4/h"))
    assert plan.cost == sum(points for _, points in plan.cost_terms)
    assert dict(plan.cost_terms)["change"] == len(plan.changes)


def test_a_plain_piece_is_proved() -> None:
    """A scale with one modulation leaves nothing to wonder about."""
    part = build_part("C4/q D4/q E4/q F4/q", "G4/q A4/q F#4/q G4/q", "G4/w")
    assert plan_changes(part).proved_optimal


def test_a_respelling_saves_a_passage_and_does_not_shave_a_move() -> None:
    """F♯ between two F is played as G♭ where the foot could not do it, and only there."""
    quick = plan_changes(build_part("F4/s F#4/s F4/s r/s r/h.", tempo=100))
    assert [use.sounding.name for use in quick.strings.values() if use.sounding] == [
        "F♮",
        "G♭",
        "F♮",
    ]
    calm = plan_changes(build_part("F4/h F#4/h", "F4/h r/h", tempo=60))
    assert calm.respelled == ()
    assert [change.text for change in calm.changes] == ["F♯", "F♮"]


def test_a_whole_passage_may_be_respelled() -> None:
    """C♯ trilled by hand against C: D♭ is free, and both notes keep their strings."""
    plan = plan_changes(build_part("C4/s C#4/s C4/s C#4/s C4/s C#4/s r/e r/h", tempo=72))
    assert {use.sounding.name for use in plan.strings.values() if use.sounding} == {"C♮", "D♭"}
    assert plan.changes == ()


def test_prices_are_the_users() -> None:
    """Where a respelling costs more than everything else, the notes stay as written."""
    part = build_part("F4/s F#4/s F4/s r/s r/h.", tempo=100)
    assert plan_changes(part, weights=Weights(respelled=9_000)).respelled == ()


def test_prices_that_contradict_each_other_are_refused() -> None:
    """A negative price, or a least time beyond the comfortable one, is a mistake."""
    with pytest.raises(DecisionsError, match=r"^a price is negative\. Give 0"):
        Weights(beat=-1)
    with pytest.raises(DecisionsError, match=r"^the times of the feet contradict each other"):
        Weights(least_seconds=Weights().comfortable_seconds * 2)
