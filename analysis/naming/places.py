"""Places as a musician names them: from ``12:2½`` to a place on the page.

The inverse of :meth:`HarpPart.printed_bar` and :meth:`HarpPart.printed_beat`: bars by their printed
number, beats as a player counts them in the lower figure of the signature.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.errors import PlaceError
from pedalsetter.analysis.part import Bar, HarpPart, Place

__all__ = ["bars_named", "place_named"]

_VULGAR = {"½": Fraction(1, 2), "⅓": Fraction(1, 3), "⅔": Fraction(2, 3)} | {
    "¼": Fraction(1, 4),
    "¾": Fraction(3, 4),
}
_BEAT = re.compile(r"(\d{1,4})(?:([½⅓⅔¼¾])|\.(\d{1,6})|[+ ](\d{1,4})/(\d{1,4}))?")
_HOW = "Write BAR or BAR:BEAT, as in 12, 12:3, 12:2½, 12:2.5 or 12:3+1/3."


def place_named(part: HarpPart, text: str, movement: int | None = None) -> Place:
    """The place that ``BAR[:BEAT]`` names; without a beat, the beginning of the bar.

    ``movement`` counts from 1 and is needed only where movements have bars of one number.

    Raises:
        PlaceError: the text names no place, the score has no such bar or the bar no such beat, or
            several movements have it.
    """
    number, colon, told_beat = text.strip().partition(":")
    number = number.strip()
    beat = _beat(told_beat.strip(), text) if colon else None
    if not number:
        raise PlaceError(f"'{text.strip()}' names no place in the score", mend=_HOW)
    bars = _bars(part, number, movement)
    if beat is None:
        return Place(bars[0].index, Fraction(0))
    for bar in bars:
        offset = (beat - part.beat_count(Place(bar.index, Fraction(0)))) * bar.time.count_unit
        if 0 <= offset < bar.length:
            return Place(bar.index, offset)
    raise PlaceError(
        f"there is no beat {told_beat.strip()}, the bar has {_beats(part, bars)}",
        file=part.source.file,
        bar=number,
        mend="Beats are counted in the lower figure of the signature.",
    )


def bars_named(part: HarpPart, text: str) -> range:
    """The bars, by index, that ``5``, ``5-12`` or ``all`` names.

    Raises:
        PlaceError: there is no such bar, or several movements have it.
    """
    told = text.strip()
    if told == "all":
        return range(len(part.bars))
    numbers = {bar.number for bar in part.bars}
    first, dash, last = told.partition("-")
    if told in numbers or not dash:
        first = last = told
    begin = _bars(part, first.strip(), None)[0].index
    end = _bars(part, last.strip(), None)[-1].index
    if end < begin:
        raise PlaceError(f"'{told}' runs backwards", mend="Name the first bar first, as in 5-12.")
    return range(begin, end + 1)


def _beat(told: str, text: str) -> Fraction:
    match = _BEAT.fullmatch(told)
    if match is None or (match[5] is not None and not int(match[5])):
        raise PlaceError(f"'{text.strip()}' names no place in the score", mend=_HOW)
    whole = Fraction(int(match[1]))
    if match[2]:
        return whole + _VULGAR[match[2]]
    if match[3]:
        return whole + Fraction(int(match[3]), 10 ** len(match[3]))
    if match[4]:
        return whole + Fraction(int(match[4]), int(match[5]))
    return whole


def _bars(part: HarpPart, number: str, movement: int | None) -> Sequence[Bar]:
    """Bars of this number: one, or the pieces into which a repeat or a page has split it."""
    movements = sorted({bar.movement for bar in part.bars})
    if movement is not None and movement - 1 not in movements:
        many = "1 movement" if len(movements) == 1 else f"{len(movements)} movements"
        raise PlaceError(
            f"there is no movement {movement}",
            file=part.source.file,
            mend=f"The score has {many}.",
        )
    named = [
        bar
        for bar in part.bars
        if bar.number == number and (movement is None or bar.movement == movement - 1)
    ]
    if not named:
        counted = [bar for bar in part.bars if movement is None or bar.movement == movement - 1]
        inside = "" if movement is None else f" in movement {movement}"
        raise PlaceError(
            f"there is no bar {number}{inside}",
            file=part.source.file,
            mend=f"Its bars go from {counted[0].number} to {counted[-1].number}.",
        )
    found = sorted({bar.movement + 1 for bar in named})
    if len(found) > 1:
        raise PlaceError(
            f"movements {', '.join(map(str, found))} each have a bar {number}",
            file=part.source.file,
            mend="Say which with --movement.",
        )
    return named


def _beats(part: HarpPart, bars: Sequence[Bar]) -> str:
    """``beats 1 to 4``: from the first count to the last that begins within these bars."""
    first = part.printed_beat(Place(bars[0].index, Fraction(0)))
    unit = bars[-1].time.count_unit
    counts = max(1, -(-bars[-1].length // unit))
    last = part.printed_beat(Place(bars[-1].index, (counts - 1) * unit))
    return f"beat {first} alone" if first == last else f"beats {first} to {last}"
