"""What a reader understood only in part, gathered while reading and told once per kind."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from pedalsetter.analysis.part import Notice

__all__ = ["Notices"]


class Notices:
    """Gathers notices by what they say; the first place of each kind is kept, the rest counted.

    The reader sets :attr:`bar`, :attr:`offset` and :attr:`staff` as it walks, so that whoever
    finds something odd need not know where it stands.
    """

    def __init__(self) -> None:
        self.bar: int | None = None
        self.offset: Fraction | None = None
        self.staff: int | None = None
        self._first: dict[str, tuple[int | None, Fraction | None, int | None]] = {}
        self._count: dict[str, int] = {}

    def at(self, bar: int | None, offset: Fraction | None = None, staff: int | None = None) -> None:
        """Say where the next notices belong."""
        self.bar, self.offset, self.staff = bar, offset, staff

    def add(self, what: str) -> None:
        """Note something at the present place."""
        place = (self.bar, self.offset, self.staff)
        known = self._first.get(what)
        if known is None or _order(place) < _order(known):
            self._first[what] = place
        self._count[what] = self._count.get(what, 0) + 1

    def shift(self, places: Sequence[int]) -> None:
        """Bars were cut in two: put what was noted so far to the new index of its bar."""
        for what, (bar, offset, staff) in self._first.items():
            if bar is not None:
                self._first[what] = (places[bar], offset, staff)

    def told(
        self, number: Callable[[int], str], beat: Callable[[int, Fraction], str]
    ) -> tuple[Notice, ...]:
        """All notices by place; ``number`` and ``beat`` turn places into what is printed."""
        notices = []
        for what, (bar, offset, staff) in sorted(
            self._first.items(), key=lambda item: (_order(item[1]), item[0])
        ):
            more = self._count[what] - 1
            tail = f" (and {more} more like it)" if more else ""
            notices.append(
                Notice(
                    what=what + tail,
                    bar=None if bar is None else number(bar),
                    beat=None if bar is None or offset is None else beat(bar, offset),
                    staff=staff,
                )
            )
        return tuple(notices)


def _order(place: tuple[int | None, Fraction | None, int | None]) -> tuple[int, Fraction, int]:
    bar, offset, staff = place
    return (-1 if bar is None else bar, offset or Fraction(0), staff or 0)
