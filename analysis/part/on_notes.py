"""What hangs on a note or a chord: tuplets, beams, spanners, ornaments, syllables."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

__all__ = ["Arpeggio", "Beam", "Grace", "Lyric", "Ornament", "SpannerEnd", "Tremolo", "TupletGroup"]


@dataclass(frozen=True, slots=True)
class TupletGroup:
    """One tuplet; every event of it carries the same value."""

    id: str
    """Unique within the part."""
    actual: int
    """Notes played …"""
    normal: int
    """… in the time of so many."""
    bracket: bool | None = None
    """As in the source; None leaves it to the engraver (no bracket on a beamed group)."""
    show_number: str = "actual"
    """``actual``, ``both`` or ``none``."""
    placement: str | None = None
    """``above``, ``below`` or None."""


class Beam(Enum):
    """What the event does to its primary beam."""

    BEGIN = "begin"
    CONTINUE = "continue"
    END = "end"


@dataclass(frozen=True, slots=True)
class Grace:
    """The event is a grace note; its length in score time is 0."""

    slash: bool = False
    after: bool = False
    """Printed as an after-note: it belongs to the note before it."""


@dataclass(frozen=True, slots=True)
class SpannerEnd:
    """One end of a spanner that is attached to an event or a head."""

    kind: str
    """``slur``, ``glissando``, ``slide``, ``wavy-line`` (a trill's line)."""
    number: int
    start: bool
    """True where it starts, False where it stops."""
    placement: str | None = None
    line: str = "solid"
    """``solid``, ``dashed``, ``dotted`` or ``wavy``."""
    text: str = ""
    """Printed along the line, as in ``gliss.``."""


@dataclass(frozen=True, slots=True)
class Ornament:
    """A trill, mordent, turn …"""

    kind: str
    """MusicXML's name: ``trill-mark``, ``mordent``, ``inverted-mordent``, ``turn`` …"""
    above: int | None = None
    """Alteration printed above the sign, in semitones, or None."""
    below: int | None = None
    """Alteration printed below the sign."""
    placement: str | None = None


@dataclass(frozen=True, slots=True)
class Tremolo:
    """A tremolo on one event, or between two."""

    kind: str
    """``single``, ``start``, ``stop`` or ``unmeasured``."""
    marks: int
    """Number of strokes."""

    @property
    def alone(self) -> bool:
        """Whether one note or chord trembles by itself."""
        return self.kind in ("single", "unmeasured")


@dataclass(frozen=True, slots=True)
class Arpeggio:
    """An arpeggio sign before a chord."""

    kind: str
    """``plain``, ``up``, ``down`` or ``bracket`` (*non arpeggiato*)."""
    number: int = 1
    """Signs with one number at one moment are a single sign, also across staves."""


@dataclass(frozen=True, slots=True)
class Lyric:
    """One syllable."""

    verse: str
    text: str
    syllabic: str = "single"
    """``single``, ``begin``, ``middle`` or ``end``."""
    extend: bool = False
