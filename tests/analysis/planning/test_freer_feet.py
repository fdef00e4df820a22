"""Feet that may cross, or move two neighbouring pedals at once: where it pays, and where not."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from freer_feet_solver import least_points
from hasty_parts import hasty_part
from hypothesis import HealthCheck, given, settings
from marked_parts import as_source, with_marks
from part_builder import build_part
from part_strategies import parts
from replay import replay
from seeded_parts import small_part

from pedalsetter.analysis.collation import collate
from pedalsetter.analysis.collation.entries import EntryKind
from pedalsetter.analysis.decisions.file import parse_decisions
from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.marks.retiming import Stand, retimed
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import Change, FindingKind, PedalPlan
from pedalsetter.analysis.planning import Weights, plan_changes
from pedalsetter.analysis.planning.two_pedals import are_neighbours
from pedalsetter.analysis.planning.weights import CROSSED, TWO_PEDALS

AS_WRITTEN = Weights(respelled=9_000)
"""Feet alone: no note changes its letter."""
CROSSING = replace(AS_WRITTEN, crossed=CROSSED)
TWO = replace(AS_WRITTEN, two_pedals=TWO_PEDALS)
BOTH = replace(CROSSING, two_pedals=TWO_PEDALS)

TWO_AT_ONCE = build_part("G4+A4/q r/q r/h", "G4+A4/e Gb4+Ab4/e r/q r/h", tempo=64)
"""G and A go flat within half a second."""
FOOT_TO_SPARE = build_part("E4+G4/e Eb4+Gb4/e r/q r/h", tempo=30)
"""E and G go flat within a second, and the left foot has nothing to do."""


def impossible(plan: PedalPlan) -> int:
    """How many changes come too fast."""
    return sum(finding.kind is FindingKind.FOOT_TOO_FAST for finding in plan.findings)


def told(plan: PedalPlan) -> list[tuple[str, Foot, Letter | None]]:
    """Each change with its foot and what the foot moves with it."""
    return [(change.text, change.foot, change.together) for change in plan.changes]


def term(plan: PedalPlan, name: str) -> Fraction:
    """Points of one term of the cost, one change being 1."""
    return dict(plan.cost_terms).get(name, Fraction(0))


def clean(part: HarpPart, plan: PedalPlan) -> bool:
    """Whether the marks alone give every note, and the feet can obey them."""
    return replay(part, plan, place_marks(part, plan)) == []


def test_five_pairs_of_neighbours() -> None:
    """D with C, C with B; E with F, F with G, G with A: never across the middle (from memory)."""
    pairs = {
        f"{one.value}{other.value}"
        for one in LETTERS
        for other in LETTERS
        if one.index < other.index and are_neighbours(one, other)
    }
    assert pairs == {"DC", "CB", "EF", "FG", "GA"}


def test_two_pedals_at_once_save_what_no_foot_could_do() -> None:
    """G♭ and A♭ in half a second: one after the other is impossible, at once it can be done."""
    alone, both = (plan_changes(TWO_AT_ONCE, weights=one) for one in (AS_WRITTEN, TWO))
    assert impossible(alone)
    assert not impossible(both)
    assert told(both) == [("G♭", Foot.RIGHT, Letter.A), ("A♭", Foot.RIGHT, Letter.G)]
    assert len({change.place for change in both.changes}) == 1
    assert term(both, "two pedals") * AS_WRITTEN.change == TWO_PEDALS
    assert both.proved_optimal
    assert all(change.seconds_since_same_foot is None for change in both.changes)
    assert "it moves A in the same movement" in both.changes[0].why
    assert clean(TWO_AT_ONCE, both)


@pytest.mark.parametrize(
    ("bar", "why"),
    [
        ("G4+A4/e Gb4+A#4/e r/q r/h", "one goes up and one goes down"),
        ("G4+A#4/e Gb4+A4/e r/q r/h", "they come from other positions"),
        ("E4+G4/e Eb4+Gb4/e r/q r/h", "F lies between them"),
        ("B4+E4/e Bb4+Eb4/e r/q r/h", "one is the left foot's"),
    ],
)
def test_only_neighbours_that_go_alike_are_moved_at_once(bar: str, why: str) -> None:
    """The same two notches on neighbouring pedals of one side, or one after the other."""
    part = build_part(bar, tempo=60)
    plan = plan_changes(part, weights=TWO)
    assert not any(change.together for change in plan.changes), why
    assert plan.cost == plan_changes(part, weights=AS_WRITTEN).cost


def test_two_pedals_at_once_do_not_pay_in_calm_music() -> None:
    """Where the foot has time, it moves one pedal after the other."""
    part = build_part("G4+A4/w", "r/w", "r/w", "Gb4+Ab4/w", tempo=60)
    plan = plan_changes(part, weights=TWO)
    assert not any(change.together for change in plan.changes)
    assert plan == plan_changes(part, weights=AS_WRITTEN)


def test_two_pedals_at_once_are_one_movement_for_the_next() -> None:
    """The foot's time is counted from pair to pair: E♭ F♭, then G♭ A♭ half a second later."""
    part = build_part("E4+F4/e Eb4+Fb4/e G4+A4/e Gb4+Ab4/e r/h", tempo=60)
    plan = plan_changes(part, weights=TWO)
    by_place: dict[object, list[Change]] = {}
    for change in plan.changes:
        by_place.setdefault(change.place, []).append(change)
    first, second = by_place.values()
    assert {change.letter for change in first} == {Letter.E, Letter.F}
    assert [change.seconds_since_same_foot for change in first] == [None, None]
    assert [change.seconds_since_same_foot for change in second] == [1, 1]


def test_crossing_saves_what_one_foot_could_not_do() -> None:
    """E♭ by the left foot, G♭ by the right, both a second after their old notes."""
    alone, across = (plan_changes(FOOT_TO_SPARE, weights=one) for one in (AS_WRITTEN, CROSSING))
    assert told(alone) == [("E♭", Foot.RIGHT, None), ("G♭", Foot.RIGHT, None)]
    assert told(across) == [("E♭", Foot.LEFT, None), ("G♭", Foot.RIGHT, None)]
    assert across.cost < alone.cost
    assert term(across, "crossed") * AS_WRITTEN.change == CROSSED
    assert across.proved_optimal
    assert [change.crossed for change in across.changes] == [True, False]
    assert "it crosses, which leaves the right foot more time" in across.changes[0].why
    assert clean(FOOT_TO_SPARE, across)


def test_the_right_foot_takes_b() -> None:
    """D♭ and B♭ within a second: the right foot has B to spare for the left."""
    part = build_part("D4+B4/e Db4+Bb4/e r/q r/h", tempo=30)
    plan = plan_changes(part, weights=CROSSING)
    assert told(plan) == [("D♭", Foot.LEFT, None), ("B♭", Foot.RIGHT, None)]


@pytest.mark.parametrize("bar", ["F4+G4/e Fb4+Gb4/e r/q r/h", "D4+C4/e Db4+Cb4/e r/q r/h"])
def test_no_other_pedal_is_crossed_for(bar: str) -> None:
    """Only E and B lie near enough to the middle (common practice, from memory)."""
    part = build_part(bar, tempo=30)
    assert not any(change.crossed for change in plan_changes(part, weights=CROSSING).changes)


def test_crossing_does_not_pay_where_the_other_foot_is_at_work() -> None:
    """The left foot has C and D to move at the same moment, and stays on its own side."""
    part = build_part("C4+D4+E4+G4/e Cb4+Db4+Eb4+Gb4/e r/q r/h", tempo=30)
    plan = plan_changes(part, weights=CROSSING)
    assert not any(change.crossed for change in plan.changes)
    assert plan.cost == plan_changes(part, weights=AS_WRITTEN).cost


@pytest.mark.parametrize(
    ("tempo", "kind", "verb"),
    [
        (60, FindingKind.FOOT_HURRIED, "is hurried"),
        (61, FindingKind.FOOT_TOO_FAST, "comes too fast for the left foot"),
    ],
)
def test_a_crossing_foot_needs_a_second_at_least(tempo: int, kind: FindingKind, verb: str) -> None:
    """Less than a second to or from a foot's own side is impossible (M10, from memory).

    D♭ by the left foot, E♭ a quarter note later, where the right foot has F and G to move.
    """
    assert Weights().least_seconds + Weights().crossing_seconds == 1
    part = build_part("D4+E4+G4/q Db4+E4+G4/q Db4+Eb4+Gb4/q r/q", tempo=tempo)
    plan = plan_changes(part, weights=replace(CROSSING, crossed=0, between=5_000))
    seconds = Fraction(60, tempo)
    (across,) = (change for change in plan.changes if change.crossed)
    assert across.text == "E♭"
    assert across.seconds_since_same_foot is not None
    assert abs(across.seconds_since_same_foot - seconds) <= Fraction(1, 10**6)
    (finding,) = (one for one in plan.findings if one.what.startswith("E♭"))
    assert finding.kind is kind
    assert finding.what == (
        f"E♭ {verb}: the left foot has moved another pedal {float(seconds):.2f} s before and has "
        "to cross."
    )


@pytest.mark.parametrize(
    ("bar", "letters", "rounds", "fewer"),
    [
        ("E4+F4+G4+A4/h Eb4+Fb4+Gb4+Ab4/h", "EFGA", 4, 3),
        ("D4+C4+B4/h Db4+Cb4+Bb4/h", "DCB", 3, 2),
    ],
)
def test_rounds_with_a_foot_that_crosses(bar: str, letters: str, rounds: int, fewer: int) -> None:
    """E F G A with the left foot free take three rounds instead of four, D C B two for three.

    Computed from the rule that each foot moves one pedal a round.
    """
    part = build_part(bar, tempo=40)
    for weights, wanted in ((AS_WRITTEN, rounds), (replace(CROSSING, crossed=0), fewer)):
        plan = plan_changes(part, weights=weights)
        assert {change.letter.value for change in plan.changes} == set(letters)
        assert max(Counter(change.foot for change in plan.changes).values()) == wanted


@pytest.mark.parametrize("seed", range(12))
def test_where_nothing_is_allowed_nothing_is_done(seed: int) -> None:
    """Without leave no foot crosses, and none moves two pedals at once."""
    plan = plan_changes(hasty_part(seed))
    assert not any(change.crossed or change.together for change in plan.changes)


CHEAP = Weights(respelled=3_000, crossed=60, two_pedals=20, crossing_seconds=Fraction(1, 4))
"""Prices at which the feet use their freedom often."""


@pytest.mark.parametrize("seed", [22, 72, 234, 256])
def test_no_plan_is_cheaper_however_free_the_feet(seed: int) -> None:
    """As cheap as OR-tools CP-SAT can make it, strings, moves, feet and repeats together."""
    part = small_part(seed, most_onsets=4)
    plan = plan_changes(part, weights=CHEAP)
    points = int(plan.cost * CHEAP.change)
    assert plan.proved_optimal
    assert any(change.crossed or change.together for change in plan.changes)
    assert least_points(part, CHEAP, known=points) == points


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(300, 330))
def test_thirty_hasty_parts_are_planned_as_cheaply_as_can_be(seed: int) -> None:
    """Chords that move several pedals alike, a third of them repeated, against CP-SAT."""
    part = hasty_part(seed, most_onsets=4)
    weights = Weights(crossed=CROSSED, two_pedals=TWO_PEDALS)
    plan = plan_changes(part, weights=weights)
    points = int(plan.cost * weights.change)
    least = least_points(part, weights, known=points)
    assert least is not None
    assert least == points or not plan.proved_optimal


def test_a_pair_may_want_a_setting_that_no_note_asks_for() -> None:
    """A part that is all one repeat: F ends it on F♭, so that F and G go to ♮ at once at the turn.

    Before the first note of a pass there is time for one movement. Found by CP-SAT.
    """
    part = hasty_part(132, most_onsets=5)
    weights = Weights(respelled=3_000, two_pedals=30)
    plan = plan_changes(part, weights=weights)
    pair = [(one.text, one.together, one.needed) for one in plan.changes if one.together]
    assert pair == [("F♮", Letter.G, None), ("G♮", Letter.F, None)]
    assert plan.cost * weights.change == least_points(part, weights)
    assert plan.proved_optimal
    assert clean(part, plan)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(parts(most_bars=1))
def test_a_freedom_never_raises_the_cost(part: HarpPart) -> None:
    """What a foot may do it need not do; and the marks can be obeyed in any case."""
    costs = []
    for weights in (
        Weights(),
        Weights(crossed=CROSSED),
        Weights(two_pedals=TWO_PEDALS),
        Weights(crossed=CROSSED, two_pedals=TWO_PEDALS),
    ):
        plan = plan_changes(part, weights=weights)
        assert clean(part, plan)
        costs.append(plan.cost)
    neither, crossing, two, both = costs
    assert max(crossing, two) <= neither
    assert both <= min(crossing, two)


@pytest.mark.parametrize("seed", range(40, 52))
def test_hasty_music_can_be_obeyed(seed: int) -> None:
    """Marks of crossings and of two pedals at once give every note on every pass."""
    part = hasty_part(seed)
    plan = plan_changes(part, weights=replace(BOTH, crossed=60, two_pedals=20))
    assert clean(part, plan)
    assert sum(points for _, points in plan.cost_terms) == plan.cost


def test_the_file_of_decisions_gives_leave() -> None:
    """``crossing`` and ``two-pedals`` stand beside ``respell``, each true or false."""
    decisions = parse_decisions('respell = "never"\ncrossing = true\ntwo-pedals = true')
    assert (decisions.crossing, decisions.two_pedals) == (True, True)
    assert told(plan_changes(FOOT_TO_SPARE, decisions=decisions)) == told(
        plan_changes(FOOT_TO_SPARE, weights=CROSSING)
    )
    assert told(plan_changes(TWO_AT_ONCE, decisions=decisions)) == told(
        plan_changes(TWO_AT_ONCE, weights=TWO)
    )
    forbidden = parse_decisions("crossing = false")
    assert not any(
        change.crossed
        for change in plan_changes(FOOT_TO_SPARE, weights=CROSSING, decisions=forbidden).changes
    )


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('crossing = "left"', "x.toml: key 'crossing': it is true or false, not 'left'"),
        ("two-pedals = 2", "x.toml: key 'two-pedals': it is true or false, not 2"),
    ],
)
def test_leave_is_yes_or_no(text: str, line: str) -> None:
    """Anything else is a mistake in the file."""
    with pytest.raises(DecisionsError) as caught:
        parse_decisions(text, "x.toml")
    assert str(caught.value).startswith(line)


def test_prices_of_the_freedoms_are_prices() -> None:
    """None below zero, and no time below zero either."""
    with pytest.raises(DecisionsError, match=r"^a price is negative"):
        Weights(crossed=-1)
    with pytest.raises(DecisionsError, match=r"^a price is negative"):
        Weights(two_pedals=-1)
    with pytest.raises(DecisionsError, match=r"^a foot cannot cross in less than no time"):
        Weights(crossing_seconds=Fraction(-1, 2))


def test_a_change_may_be_decided_beside_its_neighbour() -> None:
    """Two changes of one foot decided for one place hold where it may move them at once."""
    pins = """
respell = "never"
[[change]]
at = "2:1½"
pedal = "G♭"
[[change]]
at = "2:1½"
pedal = "A♭"
"""
    refused = plan_changes(TWO_AT_ONCE, decisions=parse_decisions(pins))
    assert [one.refused for one in refused.decisions if one.refused] == [
        "the right foot cannot move two pedals at once (see 'change G♭ in bar 2, beat 1½')"
    ]
    plan = plan_changes(TWO_AT_ONCE, decisions=parse_decisions("two-pedals = true" + pins))
    assert [one.refused for one in plan.decisions if one.refused] == []
    assert told(plan) == [("G♭", Foot.RIGHT, Letter.A), ("A♭", Foot.RIGHT, Letter.G)]


def test_the_marks_of_a_freer_plan_are_no_fault_to_it() -> None:
    """Letters that one foot prints at one place are a slip, unless the plan moves both at once."""
    plan = plan_changes(TWO_AT_ONCE, weights=TWO)
    part = with_marks(TWO_AT_ONCE, as_source(TWO_AT_ONCE, place_marks(TWO_AT_ONCE, plan)))
    strict = plan_changes(part, weights=AS_WRITTEN)
    assert EntryKind.SAME_FOOT in {entry.kind for entry in collate(part, strict).entries}
    free = plan_changes(part, weights=TWO)
    assert EntryKind.SAME_FOOT not in {entry.kind for entry in collate(part, free).entries}


@pytest.mark.parametrize("stand", list(Stand))
@pytest.mark.parametrize("part", [TWO_AT_ONCE, FOOT_TO_SPARE])
def test_a_house_style_leaves_them_where_they_are(part: HarpPart, stand: Stand) -> None:
    """Two pedals at once stay together, and a foot crosses where it has been found free."""
    plan = plan_changes(part, weights=BOTH)
    moved = retimed(part, plan, stand)
    unusual = [change for change in plan.changes if change.together or change.crossed]
    assert unusual
    assert all(change in moved.changes for change in unusual)
    assert clean(part, moved)
