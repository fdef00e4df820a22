"""What is written around each event, gathered by many small passes before any leaf is built."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction

from pedalsetter.analysis.part import Event, HarpPart, Notice, Place
from pedalsetter.engrave.notation.remedied import AS_WRITTEN, Remedied

__all__ = ["HeadSigns", "Notices", "Sheet", "Signs"]


@dataclass(slots=True)
class HeadSigns:
    """Source text around one notehead."""

    tweaks: list[str] = field(default_factory=list)
    mark: str = ""
    """``!`` or ``?`` behind the pitch, or nothing."""
    after: list[str] = field(default_factory=list)
    """Post-events of this head alone."""


@dataclass(slots=True)
class Signs:
    """Source text around one event."""

    before: list[str] = field(default_factory=list)
    """Commands, behind its grace notes."""
    after: list[str] = field(default_factory=list)
    """Post-events."""
    behind: list[str] = field(default_factory=list)
    """What follows the note as music of its own, without length."""


class Sheet:
    """The signs of every event and notehead, by their ids."""

    def __init__(self, remedied: Remedied = AS_WRITTEN) -> None:
        self.remedied = remedied
        self.events: defaultdict[str, Signs] = defaultdict(Signs)
        self.heads: defaultdict[str, HeadSigns] = defaultdict(HeadSigns)


class Notices:
    """Collects what could be engraved only in part, each once, in the order of the score."""

    def __init__(self, part: HarpPart) -> None:
        self._part = part
        self._found: dict[tuple[int, Fraction, int, str], Notice] = {}

    def at(self, event: Event, what: str) -> None:
        """Tell ``what`` of an event."""
        self.here(event.bar, event.onset, event.staff, what)

    def here(self, bar: int, onset: Fraction, staff: int | None, what: str) -> None:
        """Tell ``what`` of a moment, ``onset`` in quarters of score time."""
        place = Place(bar, onset - self._part.bars[bar].start)
        self._found.setdefault(
            (bar, onset, staff or 0, what),
            Notice(what, self._part.printed_bar(bar), self._part.printed_beat(place), staff),
        )

    def all(self) -> tuple[Notice, ...]:
        """Every notice, by place."""
        return tuple(notice for _, notice in sorted(self._found.items(), key=lambda item: item[0]))
