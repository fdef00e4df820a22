# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""The states of one letter, and how it may go from one stretch to the next.

A state is *standing* (its position, and what has sounded on it) or *moved* (its new position, and
where it moved): a pedal goes straight from the note that needs one position to the note that needs
the next, so a letter that has moved does not move again before it has sounded.
"""

from __future__ import annotations

from array import array
from typing import Any

import cython

from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.sounded import INFINITE, Past, Variant

__all__ = ["UNSET", "WILD", "Ask", "Held", "Node", "States"]

UNSET: int = 9
"""Position of a letter that nothing has needed yet and that will be set as it is first needed."""

WILD: int = 8
"""Position of a letter at the beginning of an excerpt: wherever suits it best."""

_UNSET = cython.declare(cython.int, 9)
_WILD = cython.declare(cython.int, 8)
_INFINITE = cython.declare(cython.longlong, 1 << 60)
_MASK = cython.declare(cython.ulonglong, (1 << 61) - 1)

Ask = tuple[int, tuple[Variant, ...], int]
"""(place, the ways to need the letter there, points for not needing it, INFINITE if it must be)."""

State = tuple[int, int, tuple[int, ...], tuple[int, ...], Past, Past]
"""(position, where it has moved since its last note, what it waits for, its memory, its past, what
of it is certain); see :class:`Node`."""


class Held:
    """What a letter remembers beside its past; one object for all that are equal."""

    def __init__(self, number: int, waits: tuple[int, ...], memory: tuple[int, ...]) -> None:
        """``waits`` are places at which it has moved and whose moves no note has met yet.

        ``memory`` holds its positions at barlines that a later pass comes back to.
        """
        self.number, self.waits, self.memory = number, waits, memory
        self.calm: Held = self
        """The same, waiting for nothing."""


class Node:
    """A state of a letter at a place; one object for all that are equal."""

    def __init__(
        self,
        place: cython.int,
        position: cython.int,
        moved: cython.int,
        held: Held,
        past: Past,
        certain: Past,
    ) -> None:
        """``moved`` is where it has moved since its last note, or −1."""
        self.place, self.position, self.moved = place, position, moved
        self.held, self.past, self.certain = held, past, certain
        self.rest = self.number = self.sign = 0
        """Nodes of one sign can be compared: they stand alike and remember the same."""
        self.also = -1
        """The sign of a letter that has moved already to where this one must move next, or −1."""
        self.least = INFINITE
        """The least points from the notes of the place on, once ``values`` are known."""
        self.moves: list[Any] | None = None
        self.values: list[Any] | None = None
        self.next: Node | None = None

    def state(self) -> State:
        """What it is by, without what was found about it, so that it can be remembered."""
        held = self.held
        return self.position, self.moved, held.waits, held.memory, self.past, self.certain


class States:
    """One letter along all stretches of a part: what is asked of it, and its states."""

    def __init__(
        self, prices: Prices, form: Any, asks: list[Ask], candidates: list[tuple[int, ...]]
    ) -> None:
        """Read the ``asks`` of the letter.

        ``candidates`` tell for each junction where it can stand, best liked first.
        """
        self.prices, self.form, self.asks, self._candidates = prices, form, asks, candidates
        self._helds: dict[tuple[tuple[int, ...], tuple[int, ...]], Held] = {}
        self.certain: list[Past] = []
        self._number_asks()
        past: Past = prices.nothing
        stretch: cython.int = -1
        for place, variants, passed in asks:
            if form.stretch_of[place] != stretch:
                stretch, past = form.stretch_of[place], prices.nothing
            self.certain.append(past)
            # What is certain to have sounded before can only make a later move dearer.
            if passed == INFINITE and len(variants) == 1:
                past = self.after(past, place, variants[0], True)

    def _number_asks(self) -> None:
        """Note which ask comes first from each place on, and what is passed by before each."""
        asks = self.asks
        self.places = array("i", [ask[0] for ask in asks])
        self.first = array("i", [0]) * (len(self.form.ends) + 1)
        self.skips = array("q", [0]) * (len(asks) + 1)
        at: cython.int = 0
        place: cython.int
        for place in range(len(self.form.ends) + 1):
            self.first[place] = at
            if at < len(asks) and self.places[at] == place:
                # A note that is left out has not sounded, which may save as much as the slack.
                least: cython.longlong = min([one.lost for one in asks[at][1]]) - self.prices.slack
                passed: cython.longlong = asks[at][2]
                self.skips[at + 1] = self.skips[at] + min(passed, max(least, 0))
                at += 1
        self._number_targets()

    def _number_targets(self) -> None:
        """Note where the letter may be wanted from each ask on, as bits: 1, 2, 4 for ♭, ♮, ♯.

        8 says that it may come to the end of the stretch without being needed. The asks end with
        the first that cannot be passed by. A need for which the pedal must move right there is
        not counted.
        """
        self.targets = array("i", [8]) * (len(self.asks) + 1)
        at: cython.int
        for at in range(len(self.asks) - 1, -1, -1):
            ask: tuple = self.asks[at]
            bits: cython.int = 0
            variant: Variant
            for variant in ask[1]:
                if not variant.kind & 2:
                    bits |= 1 << (variant.position + 1)
            if ask[2] != INFINITE:
                further: cython.bint = at + 1 < len(self.asks) and (
                    self.prices.stretch_of[self.places[at + 1]]
                    == self.prices.stretch_of[self.places[at]]
                )
                bits |= self.targets[at + 1] if further else 8
            self.targets[at] = bits

    # States.

    def after(self, past: Past, place: cython.int, variant: Variant, moved: cython.bint) -> Past:
        """The past after a need has been met."""
        if variant.kind & 1:
            # A letter that has moved since its last note is no longer hurried by it.
            return self.prices.faded(self.prices.moved(past) if moved else past, place)
        return self.prices.played(past, place, variant)

    def holding(self, waits: tuple, memory: tuple) -> Held:
        """What a letter remembers, as one object."""
        known: Held | None = self._helds.get((waits, memory))
        if known is None:
            known = self._helds[waits, memory] = Held(len(self._helds), waits, memory)
            if waits:
                known.calm = self.holding((), memory)
        return known

    def _also(self, node: Node) -> cython.int:
        if node.moved >= 0 or node.position >= _WILD or node.place >= len(self.prices.ends):
            return -1
        number: cython.int = self.first[node.place]
        if number == len(self.places):
            return -1
        place: cython.int = self.places[number]
        if self.prices.stretch_of[place] != self.prices.stretch_of[node.place]:
            return -1
        ask: tuple = self.asks[number]
        variant: Variant = ask[1][0]
        if ask[2] != INFINITE or len(ask[1]) > 1 or variant.kind:
            return -1
        if variant.position == node.position:
            return -1
        return (node.held.calm.number << 4) + variant.position + 1

    def memories(self, stretch: int) -> list[tuple[int, ...]]:
        """What the letter can remember along a stretch."""
        found: list[tuple[int, ...]] = [()]
        for junction in self.form.open[stretch]:
            found = [(*one, more) for one in found for more in self._candidates[junction]]
        return found

    def crossed(
        self, stretch: int, position: int, memory: tuple[int, ...]
    ) -> list[tuple[int, tuple[int, ...]]]:
        """How the letter begins the next stretch if it ends one in a position; none if it may not.

        Each is a position and the memory there.
        """
        free, slot, entry, junction, codes = self.form.crossings[stretch + 1]
        if not free and slot >= 0 and memory[slot] != position:
            return []
        if entry == -1:
            begins: tuple[int, ...] = (position,)
        elif entry == -3:
            begins = (UNSET,)
        elif entry == -4:
            begins = self._candidates[junction]
        else:
            begins = (memory[entry],)
        return [
            (
                begin,
                tuple(
                    memory[code] if code >= 0 else position if code == -1 else begin
                    for code in codes
                ),
            )
            for begin in begins
        ]

    def exits(
        self, stretch: int, position: int, memory: tuple[int, ...]
    ) -> list[tuple[int, tuple[int, ...]]]:
        """Every way out of a stretch: (the next position, the next memory)."""
        positions: tuple[int, ...] = (position,)
        if position in (UNSET, WILD):
            free, slot, _, _, _ = self.form.crossings[stretch + 1]
            leave = self.form.exits[stretch]
            positions = (0,) if free else (memory[slot],) if slot >= 0 else self._candidates[leave]
        return [way for one in positions for way in self.crossed(stretch, one, memory)]
