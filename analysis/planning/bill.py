"""The cost of a plan, term by term, named after the weights."""

from __future__ import annotations

from pedalsetter.analysis.harp import Position
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.feet import Schedule
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.weights import Weights
from pedalsetter.analysis.respelling import strings_for

__all__ = ["Bill"]


class Bill:
    """Adds up points by term."""

    def __init__(self) -> None:
        self.terms: dict[str, int] = dict.fromkeys(
            (
                "change",
                "second notch",
                "haste",
                "under a note",
                "resonance",
                "place",
                "sharing a gap",
                "two pedals",
                "crossed",
                "early",
                "respelled",
                "lost",
            ),
            0,
        )

    @property
    def total(self) -> int:
        """All points."""
        return sum(self.terms.values())

    @property
    def played(self) -> int:
        """The points of what is played: all but those of notes that cannot sound."""
        return self.total - self.terms["lost"]

    def add_schedule(self, schedule: Schedule, prices: Prices) -> None:
        """Add the changes of one foot along one line."""
        terms, weights = self.terms, prices.weights
        last: int | None = None
        for place, windows in schedule.groups:
            turns = prices.turns(windows, place, last)
            at_once = (weights.two_pedals or 0) * (len(windows) - len(turns))
            terms["two pedals"] += at_once
            terms["sharing a gap"] += prices.sharing(windows, place, turns) - at_once
            terms["haste"] += prices.hurry(windows, place, turns, last)
            last = prices.end(windows, place)
            for window in windows:
                haste, under, resonance = prices.sound(window, prices.time(place))
                terms["change"] += weights.change
                terms["crossed"] += (weights.crossed or 0) if window.crossed else 0
                terms["second notch"] += weights.second_notch * (window.notches - 1)
                terms["haste"] += haste
                terms["under a note"] += under
                terms["resonance"] += resonance
                terms["place"] += prices.position(window, place)
                terms["early"] += prices.early(window, place)

    def add_strings(self, demands: Demands, weights: Weights) -> None:
        """Add the notes that are respelled or lost; a lost neighbour of a trill is half a note.

        A double alteration's equivalent is free, unless it evades a natural (B♯ for D♭♭).
        """
        self.terms["respelled"] += weights.respelled * len(demands.neighbours)
        self.terms["lost"] += weights.lost // 2 * demands.silent_neighbours
        for use in demands.strings.values():
            if use.sounding is None:
                self.terms["lost"] += weights.lost
            elif abs(use.written.alter) == 2:
                natural = any(one.position is Position.NATURAL for one in strings_for(use.written))
                evades = natural and use.sounding.position is not Position.NATURAL
                self.terms["respelled"] += weights.respelled * evades
            elif use.respelled:
                self.terms["respelled"] += weights.respelled
