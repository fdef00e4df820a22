"""What is printed at a moment rather than on a note: words, dynamics, lines, signs."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from pedalsetter.analysis.part.note_value import NotatedLength

__all__ = ["FOR_ALL_STAVES", "SPAN_ENDS", "Direction", "DirectionKind"]


class DirectionKind(Enum):
    """What a direction is."""

    WORDS = "words"
    TEMPO_WORDS = "tempo words"
    """Words such as *Andante*, *rit.*, *a tempo*: above the system, in the tempo row."""
    METRONOME = "metronome"
    DYNAMIC = "dynamic"
    WEDGE_START = "wedge start"
    WEDGE_STOP = "wedge stop"
    DASHES_START = "dashes start"
    DASHES_STOP = "dashes stop"
    BRACKET_START = "bracket start"
    BRACKET_STOP = "bracket stop"
    OCTAVE_START = "octave start"
    OCTAVE_STOP = "octave stop"
    REHEARSAL = "rehearsal"
    SEGNO = "segno"
    CODA = "coda"
    JUMP_WORDS = "jump words"
    """*D.C. al Fine*, *To Coda*, *Fine* … as printed."""
    DAMP = "damp"
    DAMP_ALL = "damp all"
    SYMBOL = "symbol"
    """A SMuFL glyph; ``text`` is its glyph name."""


FOR_ALL_STAVES = frozenset(
    {
        DirectionKind.TEMPO_WORDS,
        DirectionKind.METRONOME,
        DirectionKind.REHEARSAL,
        DirectionKind.SEGNO,
        DirectionKind.CODA,
        DirectionKind.JUMP_WORDS,
    }
)
"""What holds for all parts and stands above the system, not at a staff."""

SPAN_ENDS = {
    DirectionKind.WEDGE_START: DirectionKind.WEDGE_STOP,
    DirectionKind.DASHES_START: DirectionKind.DASHES_STOP,
    DirectionKind.BRACKET_START: DirectionKind.BRACKET_STOP,
    DirectionKind.OCTAVE_START: DirectionKind.OCTAVE_STOP,
}
"""What begins a line, and what ends it."""


@dataclass(frozen=True, slots=True)
class Direction:
    """Something printed at a moment rather than on a note."""

    id: str
    kind: DirectionKind
    bar: int
    onset: Fraction
    """Quarters from the beginning of the score, printed offsets applied."""
    staff: int | None = None
    """The staff that it belongs to; None where the source names none."""
    placement: str | None = None
    """``above``, ``below`` or None."""
    text: str = ""
    """Words, dynamic (``mf``), rehearsal mark, metronome's figure …; may hold line breaks."""
    bold: bool = False
    italic: bool = False
    size_points: float | None = None
    """Font size of the source, if it names one (not musical time, so a float may serve)."""
    enclosure: str | None = None
    """``rectangle``, ``circle`` …; of a rehearsal mark ``none`` where it has no frame, and None for
    the usual one."""
    number: int = 1
    """Pairs starts with stops."""
    shape: str = ""
    """Wedge: ``crescendo`` or ``diminuendo``; octave: ``8va``, ``8vb``, ``15ma``, ``15mb``;
    bracket: its line, ``solid``, ``dashed``, ``dotted`` or empty."""
    niente: bool = False
    beat_unit: NotatedLength | None = None
    """Metronome: the note before the equals sign."""
    beat_unit_to: NotatedLength | None = None
    """Metric modulation: the note after the equals sign, in place of a figure."""
    parentheses: bool = False
