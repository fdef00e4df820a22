"""Where a part came from: its file, its own pedal marks, and what was understood in part only."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.harp import Position, Setting

__all__ = ["DoubtfulWords", "Notice", "Source", "SourceMark"]


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
