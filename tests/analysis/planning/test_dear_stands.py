"""Settings at junctions that are left out because no good plan can have them."""

from __future__ import annotations

from itertools import product

import pytest
from replay import unfold
from seeded_parts import small_part

from pedalsetter.analysis.harp import Position
from pedalsetter.analysis.planning import plan_changes, string_search
from pedalsetter.analysis.planning.dear_stands import affordable
from pedalsetter.analysis.planning.junction_settings import Stand
from pedalsetter.analysis.planning.junctions import find_route
from pedalsetter.analysis.planning.playing_order import playing_order

REPEATED = [
    seed for seed in range(24) if len(list(unfold(small_part(seed)))) > len(small_part(seed).bars)
]


@pytest.mark.parametrize("seed", REPEATED)
def test_the_plan_is_the_same(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """With dear settings left out and with all of them weighed, plan and proof are alike."""
    part = small_part(seed)
    plans = []
    for few in (0, 1 << 40):
        monkeypatch.setattr(string_search, "_FEW_STRETCHES", few)
        plans.append(plan_changes(part))
    assert plans[0].cost == plans[1].cost
    assert plans[0].proved_optimal
    assert plans[1].proved_optimal


def test_only_what_costs_too_much_is_left_out() -> None:
    """Two letters that pay where they do not stand at ♮: what both pay is within the budget."""
    part = small_part(REPEATED[0])
    route = find_route(part, playing_order(part))
    every: list[Stand] = list(product(Position, repeat=2))
    stands = [every] * route.junctions

    def price(number: int, index: int, entry: Position, leave: Position | None) -> int:
        ends = (entry,) if leave is None else (entry, leave)
        return sum(100 * (number + 1) * abs(int(position)) for position in ends)

    flat, natural, sharp = Position
    passed = sum((one.entry == 0) + (one.exit == 0) for one in route.stretches)
    found = affordable(route, stands, price, 100 * passed + 1)
    assert (natural, natural) in found[0]
    assert (flat, natural) in found[0]
    assert (sharp, natural) in found[0]
    assert all(second is natural for _, second in found[0])
    # Where nothing can be afforded, the cheapest stays.
    assert affordable(route, stands, price, 0)[0] == [(natural, natural)]
