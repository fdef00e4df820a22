"""One foot on two neighbouring pedals of its side: one movement of the foot, two changes.

Both pedals go the same way between the same notches, and neither is crossed for. On the left that
is D with C or C with B, on the right E with F, F with G or G with A (common practice, no source).
Changes of one foot that share a place are made in *turns*, one after the other; a turn is one
change, or two at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import pairwise

from pedalsetter.analysis.harp import LETTERS, Letter

__all__ = ["Distance", "are_neighbours", "fit", "turns_of"]

Distance = tuple[Letter, int, int]
"""How a pedal moves: (letter, old position, new position)."""


def are_neighbours(one: Letter, other: Letter) -> bool:
    """Whether one foot can rest on both pedals.

    >>> are_neighbours(Letter.C, Letter.B), are_neighbours(Letter.B, Letter.E)
    (True, False)
    """
    return abs(one.index - other.index) == 1 and one.foot is other.foot


_NEIGHBOURS = frozenset(
    (one, other) for one in LETTERS for other in LETTERS if are_neighbours(one, other)
)


def fit(one: Distance, other: Distance) -> bool:
    """Whether one movement of a foot can make both changes."""
    return one[1:] == other[1:] and (one[0], other[0]) in _NEIGHBOURS


def turns_of(moves: Sequence[Distance | None], most: int) -> tuple[tuple[int, ...], ...]:
    """Every way to make changes in their order in ``most`` turns at most: the sizes of the turns.

    None stands for a change that is always made by itself. Few turns come first.

    >>> c, d, f = (Letter.C, 0, 1), (Letter.D, 0, 1), (Letter.F, 0, 1)
    >>> turns_of([d, c, f], 3)
    ((2, 1), (1, 1, 1))
    """
    pairs = tuple(
        before is not None and after is not None and fit(before, after)
        for before, after in pairwise(moves)
    )
    return tuple(sizes for sizes in _turns(pairs) if len(sizes) <= most)


@cache
def _turns(pairs: tuple[bool, ...]) -> tuple[tuple[int, ...], ...]:
    return tuple(sorted(_split(pairs), key=len))


def _split(pairs: Sequence[bool]) -> Iterator[tuple[int, ...]]:
    """``pairs`` tells of each change but the last whether it can be made with the next."""
    if not pairs:
        yield (1,)
        return
    for rest in _split(pairs[1:]):
        yield (1, *rest)
    if pairs[0]:
        if len(pairs) == 1:
            yield (2,)
        else:
            for rest in _split(pairs[2:]):
                yield (2, *rest)
