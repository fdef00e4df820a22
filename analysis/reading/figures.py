"""Numbers in a score file: plain, short, and never trusted."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache

__all__ = ["decimal", "whole"]

# No exponents: "1e999999999" is a valid number to a Fraction, and fills the memory.
_DECIMAL = re.compile(r"[+-]?(\d{1,12}(\.\d{0,12})?|\.\d{1,12})(/0*[1-9]\d{0,9})?", re.ASCII)


@lru_cache(maxsize=4096)
def decimal(text: str | None) -> Fraction | None:
    """The exact number; None where there is none, or one that no score needs.

    >>> decimal(" 1.5 ")
    Fraction(3, 2)
    >>> decimal("soon") is None
    True
    """
    stripped = (text or "").strip()
    match = _DECIMAL.fullmatch(stripped)
    if match is None:
        return None
    number, _, below = stripped.partition("/")
    return Fraction(number) / int(below) if below else Fraction(number)


def whole(text: str | None, default: int, *, least: int = -999, most: int = 999) -> int:
    """The whole number, kept between ``least`` and ``most``; ``default`` where there is none.

    >>> whole("3", 1), whole("x", 1), whole("999999", 1, most=8)
    (3, 1, 8)
    """
    number = decimal(text)
    if number is None:
        return default
    return max(least, min(most, int(number)))
