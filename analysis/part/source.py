"""Where a part came from: its file, its own pedal marks, and what was understood in part only."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Position, Setting

__all__ = ["DoubtfulWords", "Notice", "Source", "SourceMark", "by_kind"]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a part came from."""

    file: str
    """File name without its folder."""
    format: str
    """``musicxml``, ``mxl``, ``mei``, ``kern``, ``abc``, ``midi`` …"""
    part_id: str = ""
    part_number: int = 1
    """Place in the score, from 1."""
    spelling_guessed: bool = False
    """True where the format has pitches but no spelling (MIDI)."""
    first_staff: int = 1
    """Place of its upper staff among all staves of the score, from 1."""
    parts: int = 1
    """How many parts the score has."""
    joined: tuple[int, ...] = ()
    """The numbers of those that are read as one harp, where there are several."""


@dataclass(frozen=True, slots=True)
class SourceMark:
    """A pedal mark that the source already carries."""

    id: str
    bar: int
    onset: Fraction
    staff: int | None
    kind: str
    """``diagram`` or ``letters``."""
    pedals: tuple[tuple[str, int], ...]
    """(letter, alteration) as the source has them: partial or impossible sets are kept as read."""
    text: str = ""
    """The words of a textual mark."""
    placement: str | None = None

    def setting(self) -> Setting | None:
        """The whole setting, if all seven pedals are named once and possibly."""
        named = dict(self.pedals)
        if len(self.pedals) != 7 or set(named) != set("DCBEFGA"):
            return None
        if any(alter not in (-1, 0, 1) for alter in named.values()):
            return None
        return Setting(tuple(Position(named[letter]) for letter in "DCBEFGA"))


@dataclass(frozen=True, slots=True)
class DoubtfulWords:
    """Words that could be pedal letters, but were kept as ordinary words."""

    id: str
    """Identity of the direction, which is among the part's directions as well."""
    bar: int
    onset: Fraction
    staff: int | None
    text: str
    why: str
    """One sentence: what speaks against taking them for pedal letters."""


@dataclass(frozen=True, slots=True)
class Notice:
    """Something that was understood only in part, or left out, while reading or engraving."""

    what: str
    bar: str | None = None
    """Printed number."""
    beat: str | None = None
    staff: int | None = None
    kind: str = ""
    """What is told in the same words elsewhere too; empty where ``what`` says no more."""
    bars: tuple[str, ...] = ()
    """All bars of the kind by their printed numbers; empty where ``bar`` is the only one."""
    times: int = 1
    """How often it was found."""

    def __str__(self) -> str:
        place = [
            part
            for part in (
                f"bar {self.bar}" if self.bar is not None else "",
                f"beat {self.beat}" if self.beat is not None else "",
                f"staff {self.staff}" if self.staff is not None else "",
            )
            if part
        ]
        return f"{', '.join(place)}: {self.what}" if place else self.what


def by_kind(notices: Iterable[Notice]) -> tuple[Notice, ...]:
    """One notice for each kind, with all its bars, in the order in which they first come."""
    found: dict[str, Notice] = {}
    for notice in notices:
        kind = notice.kind or notice.what
        bars = notice.bars or ((notice.bar,) if notice.bar is not None else ())
        known = found.get(kind)
        if known is None:
            found[kind] = Notice(kind, notice.bar, kind=kind, bars=bars, times=notice.times)
        else:
            every = tuple(dict.fromkeys((*known.bars, *bars)))
            times = known.times + notice.times
            found[kind] = Notice(kind, known.bar, kind=kind, bars=every, times=times)
    return tuple(found.values())
