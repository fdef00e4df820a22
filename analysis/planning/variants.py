"""One letter along a line, and what becomes of its changes if some of its needs were others."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterator, Mapping, Sequence
from heapq import merge

from pedalsetter.analysis.harp import Letter, Position
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.needs import Need
from pedalsetter.analysis.planning.optimum import essence
from pedalsetter.analysis.planning.windows import Line, Window, find_windows, follow

__all__ = ["LetterLine"]


class LetterLine:
    """The needs of one letter and the changes that they force; both can be varied cheaply."""

    def __init__(
        self,
        letter: Letter,
        track: Sequence[tuple[int, Need]],
        line: Line,
        moments: Moments,
        entry: Position | None,
        leave: Position | None,
    ) -> None:
        self.letter = letter
        self._line = line
        self._moments = moments
        self._entry = entry
        self._leave = leave
        self._needs = dict(track)
        self.places = [place for place, _ in track]
        """Where the letter is needed, in order."""
        self.windows = find_windows(letter, track, line, moments, self._start(track), leave)
        """Its changes, by latest place."""
        self._lasts = [window.last for window in self.windows]

    def need(self, place: int) -> Need:
        """The need at a place."""
        return self._needs[place]

    def holds(self, window: Window) -> bool:
        """Whether a change is still one of this line."""
        at = bisect_left(self._lasts, window.last)
        return at < len(self._lasts) and self.windows[at] is window

    def around(self, place: int) -> Window | None:
        """The change that may be made around a place, if there is one."""
        at = bisect_left(self._lasts, place)
        if at < len(self.windows) and self.windows[at].first <= place:
            return self.windows[at]
        return None

    def vary(self, changed: Mapping[int, Need | None]) -> tuple[list[Window], list[Window]]:
        """(changes that vanish, changes that come instead) if some needs were others.

        Costs no more than the stretch of music around them.
        """
        low, high = min(changed), max(changed)
        begin = max(0, bisect_left(self._lasts, low) - 1)
        known = self.windows[begin] if begin < len(self.windows) else None
        if known is None or known.last >= low:
            known, begin = None, 0
        first = known.last if known is not None else 0
        added: list[Window] = []
        stop = len(self.windows)
        entry = self._entry
        if known is None and entry is None:
            entry = self._start(list(_first(self._track(first, changed))))
        for window in follow(
            self.letter,
            self._track(first, changed),
            self._line,
            self._moments,
            entry if entry is not None else Position.NATURAL,
            self._leave,
            known,
        ):
            at = bisect_left(self._lasts, window.last)
            same = at < len(self._lasts) and essence(self.windows[at]) == essence(window)
            if same and window.last > high:
                # From here on everything is as it was.
                stop = at
                break
            added.append(window)
        old = {essence(window): window for window in self.windows[begin:stop]}
        new = {essence(window): window for window in added}
        return (
            [window for key, window in old.items() if key not in new],
            [window for key, window in new.items() if key not in old],
        )

    def change(
        self, changed: Mapping[int, Need | None], removed: Sequence[Window], added: Sequence[Window]
    ) -> None:
        """Make a variation the line itself."""
        for place, need in changed.items():
            if need is None:
                if place in self._needs:
                    del self._needs[place]
                    del self.places[bisect_left(self.places, place)]
            else:
                if place not in self._needs:
                    insort(self.places, place)
                self._needs[place] = need
        gone = {id(window) for window in removed}
        kept = [window for window in self.windows if id(window) not in gone]
        self.windows = sorted([*kept, *added], key=lambda window: window.last)
        self._lasts = [window.last for window in self.windows]

    def _track(self, first: int, changed: Mapping[int, Need | None]) -> Iterator[tuple[int, Need]]:
        own = (
            self.places[index] for index in range(bisect_left(self.places, first), len(self.places))
        )
        kept = ((place, 0) for place in own if place not in changed)
        others = ((place, 1) for place in sorted(changed) if place >= first)
        for place, other in merge(kept, others):
            need = changed[place] if other else self._needs[place]
            if need is not None:
                yield place, need

    def _start(self, track: Sequence[tuple[int, Need]]) -> Position:
        if self._entry is not None:
            return self._entry
        if track:
            return track[0][1].position
        return self._leave if self._leave is not None else Position.NATURAL


def _first(track: Iterator[tuple[int, Need]]) -> Iterator[tuple[int, Need]]:
    for entry in track:
        yield entry
        return
