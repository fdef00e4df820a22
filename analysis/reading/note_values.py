"""Note values: MusicXML's names, and the printed value of a length that comes without one."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import cache

from pedalsetter.analysis.part import NotatedLength

__all__ = ["LOG", "printed_value", "printed_values", "quarters_of"]

LOG: Mapping[str, int] = {
    "maxima": -3,
    "long": -2,
    "breve": -1,
    "whole": 0,
    "half": 1,
    "quarter": 2,
    "eighth": 3,
    "16th": 4,
    "32nd": 5,
    "64th": 6,
    "128th": 7,
    "256th": 8,
    "512th": 9,
    "1024th": 10,
}
"""MusicXML's ``type`` to the power of two that divides the whole note."""

_BY_LENGTH: Mapping[Fraction, NotatedLength] = {
    value.quarters: value
    for value in (NotatedLength(log, dots) for log in range(10, -4, -1) for dots in (3, 2, 1, 0))
}


@cache
def quarters_of(value: NotatedLength) -> Fraction:
    """Length of a printed value in quarters, remembered: a part asks it for every note."""
    return value.quarters


def printed_value(quarters: Fraction) -> NotatedLength | None:
    """The one note value, with up to three dots, of this length; None if there is none.

    >>> printed_value(Fraction(3, 2))
    NotatedLength(log=2, dots=1)
    """
    return _BY_LENGTH.get(quarters)


def printed_values(quarters: Fraction) -> tuple[NotatedLength, ...]:
    """The fewest note values, longest first, that add up to this length when tied.

    Undotted and single-dotted values only. Empty if no sum of values down to the 1024th fits.

    >>> [str(value.quarters) for value in printed_values(Fraction(5, 2))]
    ['2', '1/2']
    """
    values = []
    for log in range(-3, 11):
        for dots in (1, 0):
            value = NotatedLength(log, dots)
            while value.quarters <= quarters:
                values.append(value)
                quarters -= value.quarters
    return tuple(values) if not quarters else ()
