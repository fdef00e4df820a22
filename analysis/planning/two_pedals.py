"""One foot on two neighbouring pedals of its side: one movement of the foot, two changes.

Both pedals go the same way between the same notches, and neither is crossed for. On the left that
is D with C or C with B, on the right E with F, F with G or G with A (common practice, no source).
Changes of one foot that share a place are made in *turns*, one after the other; a turn is one
change, or two at once.
"""

from __future__ import annotations

from pedalsetter.analysis.instrument.harp import Letter

__all__ = ["are_neighbours"]


def are_neighbours(one: Letter, other: Letter) -> bool:
    """Whether one foot can rest on both pedals.

    >>> are_neighbours(Letter.C, Letter.B), are_neighbours(Letter.B, Letter.E)
    (True, False)
    """
    return abs(one.index - other.index) == 1 and one.foot is other.foot
