"""Notes, chords and rests: what one voice does at one moment."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part.note_value import NotatedLength
from pedalsetter.analysis.part.on_notes import (
    Arpeggio,
    Beam,
    Grace,
    Lyric,
    Ornament,
    SpannerEnd,
    Tremolo,
    TupletGroup,
)

__all__ = ["Event", "Head"]


@dataclass(frozen=True, slots=True)
class Head:
    """One notehead of an event."""

    id: str
    """Identity in the source, stable from run to run and unique within the part."""
    pitch: Pitch
    """Written letter and alteration (key signature and accidentals applied) at sounding octave."""
    tie_start: bool = False
    tie_stop: bool = False
    let_ring: bool = False
    accidental: str | None = None
    """Sign printed by the source: ``plain``, ``parentheses`` or ``brackets``; None if none."""
    shape: str = "normal"
    """MusicXML's ``notehead`` name."""
    parentheses: bool = False
    fingerings: tuple[str, ...] = ()
    spanners: tuple[SpannerEnd, ...] = ()
    """Glissandi and slides that start or stop at this head."""


@dataclass(frozen=True, slots=True)
class Event:
    """A chord, a single note or a rest: all that one voice does at one moment."""

    id: str
    """Identity in the source, unique within the part."""
    bar: int
    """Index of its bar."""
    onset: Fraction
    """Quarters from the beginning of the score."""
    length: Fraction
    """Length in quarters in score time; 0 for a grace note."""
    staff: int
    """1 is the upper staff."""
    voice: str
    """The source's voice; one voice may cross the staves."""
    notated: NotatedLength | None = None
    """Printed value; None for a rest that fills its bar."""
    heads: tuple[Head, ...] = ()
    """Lowest first; empty for a rest."""
    knocks: tuple[Pitch, ...] = ()
    """Sounds of the instrument's body, which no string plays: crosses, each printed where a note of
    this pitch would stand."""
    visible: bool = True
    """False for a rest that only keeps time, and for notes that the source hides; of these only
    the stem is seen, under a beam, where another voice prints the head."""
    cue: bool = False
    """A cue: shown small, never played."""
    small: bool = False
    """Printed small, whether it is played or not."""
    rest_pitch: Pitch | None = None
    """Where the source puts the rest, by the pitch that a note there would have."""
    grace: Grace | None = None
    harmonic: bool = False
    """Played as a harmonic: written on its string, sounding an octave higher."""
    harmonic_printed_at_sound: bool = False
    """The source writes the sounding note; the string is an octave lower (rare)."""
    tuplets: tuple[TupletGroup, ...] = ()
    """Outermost first."""
    beam: Beam | None = None
    stem: str | None = None
    """``up``, ``down``, ``none`` or None (the engraver's choice)."""
    stem_with: str = ""
    """Of a chord over two staves, the id of the event whose stem and flags serve this one too."""
    tremolo: Tremolo | None = None
    arpeggio: Arpeggio | None = None
    articulations: tuple[tuple[str, str | None], ...] = ()
    """(MusicXML's name, placement): ``staccato``, ``accent``, ``tenuto``, ``breath-mark`` …"""
    ornaments: tuple[Ornament, ...] = ()
    technical: tuple[tuple[str, str], ...] = ()
    """(MusicXML's name, text) of playing signs other than fingerings and harmonics."""
    fermatas: tuple[tuple[str, str], ...] = ()
    """(shape, placement): ``normal``, ``angled``, ``square``; ``above`` or ``below``."""
    dynamics: tuple[str, ...] = ()
    """Dynamics attached to the note itself."""
    spanners: tuple[SpannerEnd, ...] = ()
    """Slurs and trill lines."""
    lyrics: tuple[Lyric, ...] = ()

    @property
    def end(self) -> Fraction:
        """When the written length is over, in quarters of score time."""
        return self.onset + self.length

    @property
    def is_rest(self) -> bool:
        """Whether it has no notehead."""
        return not self.heads

    @property
    def is_bar_rest(self) -> bool:
        """Whether it is a rest that stands for a whole bar."""
        return not self.heads and self.notated is None
