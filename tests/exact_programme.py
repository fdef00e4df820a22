"""The cheapest way to pedal a part, by a plain programme over all that two feet can do.

Written from the documented prices of ``Weights`` and not from the planner's code. The left foot has
three letters, the right one four. No price speaks of both feet, and only a note that a letter of
either foot can play (D♯ or E♭, A♯ or B♭) joins them: the search decides for each such note which
foot serves it, and for every node of a repeat where the pedals stand. What then remains is one
foot in one stretch, which is followed from slot to slot through every state that it can be in: the
memory of each letter, and the slot of its last move. Of two ways to *the same* state the dearer is
dropped, and a state is dropped if its letters, each alone in the world, would cost too much from
there on; nothing else is left out.
"""

from __future__ import annotations

import heapq
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import count

from exact_foot import Key, OneFoot, Ways
from exact_letters import FAR
from exact_places import Option, Stretch, stretches

from pedalsetter.analysis.instrument.harp import Foot
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning.weights import Weights


def least_cost(
    part: HarpPart, weights: Weights, known: int = FAR, most_states: int = 4_000_000
) -> int:
    """The least sum of points, with strings, moves and settings at repeats all free.

    ``known`` is the price of a plan that is said to be possible: only plans that cost no more are
    looked for, and the answer is ``known + 1`` if there is none.

    Raises TooManyStatesError where a foot would be in more than ``most_states`` at one slot.
    """
    return _NotesShared(stretches(part, weights), weights, most_states).solve(known)


@dataclass(frozen=True)
class _SharedNotes:
    """A group that either foot can serve."""

    key: Key
    options: Mapping[Foot, Option]
    lost: int

    @property
    def first(self) -> Foot:
        """The foot that serves it at the lesser price."""
        return min(Foot, key=lambda foot: (self.options[foot].price, foot.value))

    def ways(self, foot: Foot, served_by: Foot | str | None) -> Ways:
        """What is left to a foot, once it is decided which one serves the group, or none.

        As long as it is ``"open"`` the first foot may leave it out for the least that this can
        cost, and the second may serve it or not, for nothing. (To serve a note may save points: a
        move long before it is no longer early.)
        """
        if served_by == "open":
            if foot is not self.first:
                return (self.options[foot], 0), (None, 0)
            (other,) = (one for one in Foot if one is not foot)
            leave = min(self.options[other].price, self.lost)
            return (self.options[foot], self.options[foot].price), (None, leave)
        if served_by is foot:
            return ((self.options[foot], self.options[foot].price),)
        return ((None, self.lost if served_by is None and foot is self.first else 0),)


class _NotesShared:
    """Decides which foot serves the notes that both can, best bound first."""

    def __init__(self, found: list[Stretch], weights: Weights, most_states: int) -> None:
        self.shared: list[_SharedNotes] = []
        own: dict[Foot, dict[Key, Ways]] = {foot: {} for foot in Foot}
        self.silent = 0
        for number, stretch in enumerate(found):
            for at, place in enumerate(stretch.places):
                for index, group in enumerate(place.groups):
                    key, lost = (number, at, index), group.lost(weights)
                    feet = {option.letter.foot: option for option in group.options}
                    if len(feet) == 2:
                        self.shared.append(_SharedNotes(key, feet, lost))
                    elif feet:
                        ways = tuple((option, option.price) for option in group.options)
                        own[next(iter(feet))][key] = (*ways, (None, lost))
                    else:
                        self.silent += lost
        self.feet = {foot: OneFoot(foot, own[foot], found, weights, most_states) for foot in Foot}

    def cost(self, decided: tuple[Foot | str | None, ...], most: int = FAR) -> int:
        """The least cost; a bound while some groups are open, or if it is beyond ``most``."""
        total = self.silent
        for foot, programme in self.feet.items():
            shared = {
                one.key: one.ways(foot, served_by)
                for one, served_by in zip(self.shared, decided, strict=True)
            }
            total += programme.least(shared, most - total)
        return total

    def solve(self, known: int) -> int:
        everything_open = ("open",) * len(self.shared)
        as_first = tuple(one.first for one in self.shared)
        bound = self.cost(everything_open, known)
        best = min(known + 1, self.cost(as_first, known))
        numbers = count()
        # The bound, a rank among equals that begins with how many are still open, the decisions,
        # and whether the bound is their own or that of the decisions before.
        waiting = [(bound, (len(self.shared), False, next(numbers)), everything_open, True)]
        while waiting:
            bound, rank, decided, own = heapq.heappop(waiting)
            if bound >= best:
                break
            still_open = rank[0]
            if not own:
                bound = max(bound, self.cost(decided, best - 1))
                heapq.heappush(waiting, (bound, rank, decided, True))
            elif not still_open:
                return bound
            else:
                place = len(decided) - still_open
                first = self.shared[place].first
                for choice in (*Foot, None):
                    following = (*decided[:place], choice, *decided[place + 1 :])
                    rank = (still_open - 1, choice is not first, next(numbers))
                    heapq.heappush(waiting, (bound, rank, following, False))
        return best
