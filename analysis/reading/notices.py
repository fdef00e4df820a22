"""What a reader understood only in part, gathered while reading and told once per kind."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.naming.wording import listed
from pedalsetter.analysis.part import Notice
from pedalsetter.analysis.reading.figures import whole

__all__ = ["Notices"]

_Where = tuple[int | None, Fraction | None, int | None]
"""(bar, offset, staff), as far as they are known."""


class Notices:
    """Gathers notices by what they say: the first place of each kind, and the bars of the others.

    The reader sets :attr:`bar`, :attr:`offset` and :attr:`staff` as it walks, so that whoever
    finds something odd need not know where it stands.
    """

    def __init__(self) -> None:
        self.bar: int | None = None
        self.offset: Fraction | None = None
        self.staff: int | None = None
        self.staff_shift = 0
        """1 while the lower half of a harp in two parts is read."""
        self._of: etree._Element | None = None
        self._first: dict[str, tuple[_Where, str]] = {}
        self._count: dict[str, int] = {}
        self._bars: dict[str, set[int]] = {}

    def at(
        self,
        bar: int | None,
        offset: Fraction | None = None,
        staff: int | None = None,
        of: etree._Element | None = None,
    ) -> None:
        """Say where the next notices belong; ``of`` is the element that tells the staff.

        It is looked into only if there is something to note.
        """
        self.bar, self.offset, self.staff, self._of = bar, offset, staff, of

    def add(self, what: str, kind: str | None = None) -> None:
        """Note something at the present place.

        ``kind`` gathers notices that differ in their words; the first one's words are shown.
        """
        kind = kind or what
        if self._of is not None:
            # MusicXML: what names no staff belongs to the first.
            told = self._of.findtext("staff") or self._of.get("number")
            self.staff = whole(told, 1, least=1, most=8) + self.staff_shift
        where = (self.bar, self.offset, self.staff)
        known = self._first.get(kind)
        if known is None or _order(where) < _order(known[0]):
            self._first[kind] = (where, what)
        self._count[kind] = self._count.get(kind, 0) + 1
        if self.bar is not None:
            self._bars.setdefault(kind, set()).add(self.bar)

    def shift(self, places: Sequence[int]) -> None:
        """Bars were cut in two: put what was noted so far to the new index of its bar."""
        for kind, ((bar, offset, staff), what) in self._first.items():
            if bar is not None:
                self._first[kind] = ((places[bar], offset, staff), what)
        for kind, bars in self._bars.items():
            self._bars[kind] = {places[bar] for bar in bars}

    def told(
        self, number: Callable[[int], str], beat: Callable[[int, Fraction], str]
    ) -> tuple[Notice, ...]:
        """All notices by place; ``number`` and ``beat`` turn places into what is printed."""
        notices = []
        for kind, ((bar, offset, staff), what) in sorted(
            self._first.items(), key=lambda item: (_order(item[1][0]), item[0])
        ):
            more = self._count[kind] - 1
            others = sorted(self._bars.get(kind, set()) - {bar})
            tail = f" (and {more} more like it{_in_bars(others, number)})" if more else ""
            notices.append(
                Notice(
                    what=what + tail,
                    bar=None if bar is None else number(bar),
                    beat=None if bar is None or offset is None else beat(bar, offset),
                    staff=staff,
                    kind=what,
                    bars=tuple(dict.fromkeys(map(number, sorted(self._bars.get(kind, ()))))),
                    times=more + 1,
                )
            )
        return tuple(notices)


def _in_bars(bars: Sequence[int], number: Callable[[int], str]) -> str:
    """``, in bars 5, 9 and 12``; of very many the first."""
    names = list(dict.fromkeys(map(number, bars)))
    if len(names) > _MOST_BARS:
        names = [*names[:_MOST_BARS], "others"]
    return f", in bar{'s' if len(names) > 1 else ''} {listed(names)}" if names else ""


_MOST_BARS = 12
"""Bars that one notice names."""


def _order(where: _Where) -> tuple[int, Fraction, int]:
    bar, offset, staff = where
    return (-1 if bar is None else bar, offset or Fraction(0), staff or 0)
