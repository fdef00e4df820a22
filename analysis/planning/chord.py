"""One moment: a string for every note that is struck together, or the fewest notes left out.

A letter has one position at a time (H. Berlioz, *Grand traité d'instrumentation*, "La Harpe"), so
notes that want one letter in two positions must be played on each other's equivalents, and where
no equivalent is free, a note is lost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.instrument.harp import Letter, Position

__all__ = ["Answer", "Wish", "settle"]

Place = tuple[Letter, Position]


@dataclass(frozen=True, slots=True)
class Wish:
    """Noteheads that want the same string letters, at one moment."""

    choices: tuple[Place, ...]
    """The letters, each with its position, that would sound them; as written first."""
    heads: int
    """How many noteheads, each counted twice, and what an ornament adds once: the price of leaving
    them out."""
    free: bool
    """A double alteration: every choice is an equivalent, none is a respelling. But where a
    natural is among them it comes first, and to leave it counts as one: D♭♭ is read as C♮, and
    B♯ is an evasion."""
    barred: frozenset[Place] = frozenset()
    """Choices that the musician does not want."""

    @property
    def open(self) -> tuple[Place, ...]:
        """The choices that may be taken; none if the musician wants none of them."""
        if not self.barred:
            return self.choices
        return tuple(choice for choice in self.choices if choice not in self.barred)

    def strays(self, number: int) -> bool:
        """Whether the choice leaves the plain reading of the note."""
        return bool(number) and not (self.free and self.choices[0][1] is not Position.NATURAL)


Answer = tuple[Place | None, ...]
"""For each wish the letter and position taken, or None where it is left out."""


def settle(wishes: Sequence[Wish], standing: Mapping[Letter, Position]) -> Answer:
    """Return the choice for each wish that loses the fewest notes.

    Among equals the fewest noteheads are respelled, then the fewest letters leave the position in
    which they are ``standing``; then the earlier choices of the earlier wishes win. Exact; the
    common case without conflict is found at once.
    """
    plain: dict[Letter, Position] = {}
    for wish in wishes:
        if (len(wish.choices) > 1 and wish.free) or wish.choices[0] in wish.barred:
            break
        letter, position = wish.choices[0]
        if plain.setdefault(letter, position) is not position:
            break
    else:
        return tuple(wish.choices[0] for wish in wishes)
    return _Search(wishes, standing).best()


class _Search:
    """Branch and bound over the wishes; a moment has a dozen of them at most."""

    def __init__(self, wishes: Sequence[Wish], standing: Mapping[Letter, Position]) -> None:
        self._wishes = wishes
        self._standing = standing
        self._taken: dict[Letter, Position] = {}
        self._answer: list[Place | None] = []
        self._best: Answer = (None,) * len(wishes)
        self._price = (sum(wish.heads for wish in wishes) + 1, 0, 0)

    def best(self) -> Answer:
        self._try((0, 0, 0))
        return self._best

    def _try(self, price: tuple[int, int, int]) -> None:
        if price >= self._price:
            return
        if len(self._answer) == len(self._wishes):
            self._best, self._price = tuple(self._answer), price
            return
        wish = self._wishes[len(self._answer)]
        lost, respelled, moved = price
        for number, (letter, position) in enumerate(wish.choices):
            held = self._taken.get(letter)
            if (held is not None and held is not position) or (letter, position) in wish.barred:
                continue
            self._taken[letter] = position
            self._answer.append((letter, position))
            self._try(
                (
                    lost,
                    respelled + (wish.heads if wish.strays(number) else 0),
                    moved + (held is None and self._standing.get(letter, position) != position),
                )
            )
            self._answer.pop()
            if held is None:
                del self._taken[letter]
        self._answer.append(None)
        self._try((lost + wish.heads, respelled, moved))
        self._answer.pop()
