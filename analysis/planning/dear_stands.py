"""Settings at junctions that cost too much for any plan that is worth looking for.

What the letters of a foot cost by themselves is a lower bound of what the foot costs, and for one
letter the cheapest positions at all junctions are found at once. So of the many joint settings of
a foot's letters most can be left out before anything else is asked of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from pedalsetter.analysis.harp import Position
from pedalsetter.analysis.planning.junction_settings import Stand, StandChoice
from pedalsetter.analysis.planning.junctions import Route

__all__ = ["PriceOfLetter", "affordable"]

PriceOfLetter = Callable[[int, int, Position, Position | None], int]
"""Points of a letter by itself: number of the letter, index of the stretch, positions at its ends
(None where nothing follows)."""


def affordable(
    route: Route, stands: Sequence[Sequence[Stand]], price: PriceOfLetter, budget: int
) -> list[list[Stand]]:
    """For each junction the stands of a foot with which it can cost less than ``budget`` points.

    The one that costs least at each junction stays in any case.
    """
    letters = range(len(stands[0][0]))
    least = [_Letter(route, stands, number, price) for number in letters]
    found: list[list[Stand]] = []
    for node, here in enumerate(stands):
        if len(here) == 1:
            found.append(list(here))
            continue
        points = [sum(least[one].with_stand(node, stand[one]) for one in letters) for stand in here]
        kept = [stand for stand, cost in zip(here, points, strict=True) if cost < budget]
        found.append(kept or [here[points.index(min(points))]])
    return found


class _Letter:
    """The least that one letter costs along all stretches, by where it stands at one junction."""

    def __init__(
        self,
        route: Route,
        stands: Sequence[Sequence[Stand]],
        number: int,
        price: PriceOfLetter,
    ) -> None:
        self._route = route
        self._number = number
        self._price = price
        self._open: list[list[Stand]] = [
            [(position,) for position in sorted({stand[number] for stand in here})]
            for here in stands
        ]
        self._known: dict[tuple[int, Stand, Stand | None], int] = {}
        self._found: dict[tuple[int, Position], int] = {}

    def with_stand(self, node: int, position: Position) -> int:
        """The least points if it stands so there."""
        key = (node, position)
        if key not in self._found:
            stands = [*self._open]
            stands[node] = [(position,)]
            chosen, proved = StandChoice(self._route, stands, self._points).best()
            self._found[key] = self._total(chosen) if proved else 0
        return self._found[key]

    def _total(self, chosen: Sequence[Stand]) -> int:
        return sum(
            self._points(
                index,
                chosen[stretch.entry],
                None if stretch.exit in self._route.ends else chosen[stretch.exit],
            )
            for index, stretch in enumerate(self._route.stretches)
        )

    def _points(self, index: int, entry: Stand, leave: Stand | None) -> int:
        key = (index, entry, leave)
        if key not in self._known:
            at = None if leave is None else leave[0]
            self._known[key] = self._price(self._number, index, entry[0], at)
        return self._known[key]
