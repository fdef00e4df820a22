"""Which start of a hairpin, line or octave bracket belongs to which stop."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.part import (
    FOR_ALL_STAVES,
    SPAN_ENDS,
    Direction,
    DirectionKind,
    HarpPart,
)
from pedalsetter.engrave.notation.sheet import Notices

__all__ = ["Dynamics", "pair_directions", "words_before_lines", "written_octaves"]

_NEAR = Fraction(1, 4)
"""Quarters within which an end of a hairpin and a dynamic are meant for one moment."""


def pair_directions(
    part: HarpPart, notices: Notices
) -> tuple[list[tuple[Direction, Direction]], list[Direction]]:
    """Spanners as (start, stop), and all directions of the staves that are none.

    A start without a stop, or the reverse, is noticed and left out: the engraver would draw it to
    somewhere.
    """

    def tell(direction: Direction, what: str) -> None:
        name = direction.kind.value.split()[0]
        notices.here(direction.bar, direction.onset, direction.staff, f"a {name} {what}")

    pairs: list[tuple[Direction, Direction]] = []
    alone: list[Direction] = []
    running: dict[tuple[DirectionKind, int, int | None], Direction] = {}
    closes = {stop: start for start, stop in SPAN_ENDS.items()}
    order = sorted(
        enumerate(part.directions),
        key=lambda item: (item[1].onset, item[1].kind not in closes, item[0]),
    )
    for _, direction in order:
        kind = direction.kind
        if kind in FOR_ALL_STAVES:
            continue
        if kind in SPAN_ENDS:
            key = (kind, direction.number, direction.staff)
            if key in running:
                tell(running[key], "has no end: left out")
            running[key] = direction
        elif kind in closes:
            key = (closes[kind], direction.number, direction.staff)
            found = running.pop(key, None)
            if found is None:
                # some sources end a line under another staff
                for other in list(running):
                    if other[:2] == key[:2]:
                        found = running.pop(other)
                        break
            if found is None:
                tell(direction, "ends here without beginning: left out")
            elif found.onset < direction.onset:
                pairs.append((found, direction))
            else:
                tell(found, "without length: left out")
        else:
            alone.append(direction)
    for found in running.values():
        tell(found, "has no end: left out")
    return pairs, alone


def words_before_lines(
    part: HarpPart, pairs: Sequence[tuple[Direction, Direction]]
) -> dict[str, Direction]:
    """Words that begin a dashed line, such as *cresc.*, by the id of the line's start."""
    found: dict[str, Direction] = {}
    used: set[str] = set()
    for start, _ in pairs:
        if start.kind not in (DirectionKind.DASHES_START, DirectionKind.BRACKET_START):
            continue
        for direction in part.directions:
            if (
                direction.kind is DirectionKind.WORDS
                and direction.onset == start.onset
                and direction.staff == start.staff
                and direction.id not in used
            ):
                found[start.id] = direction
        if start.id in found:
            used.add(found[start.id].id)
    return found


_OCTAVE_WORDS = re.compile(r"(8|15)( ?(v\.?a|v\.?b|va|vb|m\.?a|m\.?b|ma|mb|bassa|alta))?\.?")


def written_octaves(
    pairs: Sequence[tuple[Direction, Direction]],
    alone: Sequence[Direction],
    worded: Mapping[str, Direction],
) -> frozenset[str]:
    """Ids of words such as *8va*, and of the starts of their lines, beside a bracket of octaves.

    The bracket brings its own figure and line.
    """
    brackets = [start for start, _ in pairs if start.kind is DirectionKind.OCTAVE_START]

    def is_doubled(words: Direction) -> bool:
        return _OCTAVE_WORDS.fullmatch(words.text.strip().lower()) is not None and any(
            words.staff in (None, bracket.staff) and abs(words.onset - bracket.onset) <= _NEAR
            for bracket in brackets
        )

    if not brackets:
        return frozenset()
    found = {
        direction.id
        for direction in alone
        if direction.kind is DirectionKind.WORDS and is_doubled(direction)
    }
    found |= {start for start, words in worded.items() if words.id in found}
    return frozenset(found)


class Dynamics:
    """The dynamics of a part, to be found beside hairpins."""

    def __init__(self, part: HarpPart) -> None:
        signs = [one for one in part.directions if one.kind is DirectionKind.DYNAMIC]
        self._places = {(sign.onset, sign.staff) for sign in signs}
        self._signs = sorted(signs, key=_onset)

    def at_start(self, wedge: Direction) -> bool:
        """Whether a dynamic stands where a hairpin begins."""
        return (wedge.onset, wedge.staff) in self._places

    def beside(self, start: Direction, stop: Direction) -> tuple[Direction, Direction]:
        """Move the ends of a hairpin onto a dynamic that stands right beside them.

        Sources place both by eye, a little apart; at one moment the engraver sets the hairpin
        behind the dynamic, or before it, instead of across.
        """
        first = bisect_left(self._signs, start.onset - _NEAR, key=_onset)
        last = bisect_right(self._signs, stop.onset + _NEAR, key=_onset)
        for sign in self._signs[first:last]:
            if sign.staff != start.staff or sign.placement != start.placement:
                continue
            onset = sign.onset
            if abs(start.onset - onset) <= _NEAR and onset < stop.onset:
                start = replace(start, bar=sign.bar, onset=onset)
            elif abs(stop.onset - onset) <= _NEAR and onset > start.onset:
                stop = replace(stop, bar=sign.bar, onset=onset)
        return start, stop


def _onset(direction: Direction) -> Fraction:
    return direction.onset
