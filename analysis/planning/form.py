"""A part as the search goes through it: its stretches one after the other, in printed order.

Marks are printed once and played on every pass, so the pedals stand alike wherever one *junction*
is passed (:mod:`pedalsetter.analysis.planning.junctions`). The search goes through every stretch
once. Where a later stretch begins or ends at a junction that has been passed, the letters remember
how they stood there: a repeat is a constraint of the search and needs no search of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pedalsetter.analysis.instrument.harp import Setting
from pedalsetter.analysis.planning.junctions import Route
from pedalsetter.analysis.playing.moments import Moments

__all__ = ["Crossing", "Form", "homes"]

Crossing = tuple[bool, int, int, int, tuple[int, ...]]
"""How a stretch is left and the next begun: (whether it may end in any setting, the number in its
memory of the junction that it ends at or −1, where the next begins, the junction there, what the
next remembers). Where it begins and what it remembers is told by a number in the memory, −1 for
where the letter stands at the end, −2 for where it then begins, −3 for wherever it is first needed,
−4 for a free choice."""


@dataclass(frozen=True, slots=True)
class Form:
    """All places of a part, stretch by stretch; each stretch has one more place, its end."""

    moments: list[int] = field(default_factory=list)
    """The moment at each place, −1 for the end of a stretch."""
    times: list[int] = field(default_factory=list)
    """Microseconds since the beginning of the stretch."""
    ends: list[bool] = field(default_factory=list)
    capacities: list[int] = field(default_factory=list)
    """How many turns one foot can be told to take in the gap that ends at each place."""
    place_prices: list[int] = field(default_factory=list)
    """Points of a mark at each place."""
    change_prices: list[int] = field(default_factory=list)
    """Points of one pedal that moves there."""
    shown: list[bool] = field(default_factory=list)
    """Whether the diagram of a section stands there."""
    counted: list[int] = field(default_factory=list)
    """The time from which a move there counts as early: in a rest that of its end."""
    spread: list[int] = field(default_factory=list)
    """Microseconds from one turn of a foot to the next where the hands rest before a diagram, else
    0. Nothing else is asked of them there."""
    settled: list[int] = field(default_factory=list)
    """When the last turn of a foot is made there: mostly at the very place."""
    rested: list[int] = field(default_factory=list)
    """How long such a rest has lasted at each place, else 0."""
    reserved: frozenset[int] = frozenset()
    """Places that are there for one decision only."""
    begins: list[int] = field(default_factory=list)
    """The first place of each stretch, and the number of places."""
    stretch_of: list[int] = field(default_factory=list)
    exits: list[int] = field(default_factory=list)
    """The junction at the end of each stretch."""
    open: list[tuple[int, ...]] = field(default_factory=list)
    """The junctions that are remembered along each stretch."""
    crossings: list[Crossing] = field(default_factory=list)
    """Before each stretch, and after the last one."""
    place_of: Mapping[int, int] = field(default_factory=dict)
    """The place of each moment."""

    def shift(self, place: int, moments: Moments) -> int:
        """Microseconds from the page's clock to that of the stretch."""
        return self.times[place] - moments.microseconds[self.moments[place]]


def homes(route: Route, signatures: Mapping[int, Setting]) -> list[Setting]:
    """For each junction the key signature of its movement: where letters without a need stand."""
    home: dict[int, Setting] = {}
    for number, _, node in route.openings:
        home[node] = signatures[number]
    for stretch in route.stretches:
        # Stretches come by first bar, so that a junction is known before it is left forwards.
        known = home.get(stretch.entry) or home.get(stretch.exit)
        for node in (stretch.entry, stretch.exit):
            if known is not None:
                home.setdefault(node, known)
    fallback = next(iter(signatures.values()))
    return [home.get(node, fallback) for node in range(route.junctions)]
