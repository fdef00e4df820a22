"""The music while it is being read: events and bars that can still change.

A note's tie, tuplet and voice are known only when its neighbours are, so the reader works on these
drafts and freezes them at the end into the values of :mod:`pedalsetter.analysis.part`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part import (
    Arpeggio,
    Beam,
    Event,
    Grace,
    Head,
    Lyric,
    NotatedLength,
    Ornament,
    SpannerEnd,
    TimeSignature,
    Tremolo,
    TupletGroup,
)

__all__ = [
    "EventDraft",
    "HeadDraft",
    "MeasureDraft",
    "Modification",
    "Placed",
    "TupletStart",
    "freeze",
]

ZERO = Fraction(0)


@dataclass(slots=True)
class HeadDraft:
    """A notehead in the making."""

    id: str
    pitch: Pitch
    tie_start: bool = False
    tie_stop: bool = False
    let_ring: bool = False
    accidental: str | None = None
    shape: str = "normal"
    parentheses: bool = False
    visible: bool = True
    staff: int | None = None
    """Where it is another one than its event's."""
    fingerings: list[str] = field(default_factory=list)
    spanners: list[SpannerEnd] = field(default_factory=list)


@dataclass(slots=True)
class Modification:
    """``<time-modification>``: ``actual`` notes in the time of ``normal``."""

    actual: int
    normal: int
    unit: Fraction | None = None
    """Length in quarters of the note value that is counted, if the source names it."""

    @property
    def ratio(self) -> Fraction:
        """Notated over real length."""
        return Fraction(self.actual, self.normal)


@dataclass(slots=True)
class TupletStart:
    """``<tuplet type="start">`` as the source has it."""

    number: int
    actual: int | None
    normal: int | None
    bracket: bool | None
    show_number: str
    placement: str | None


@dataclass(slots=True)
class EventDraft:
    """A chord, note or rest in the making; ``offset`` counts from the bar's left barline."""

    id: str
    offset: Fraction
    length: Fraction
    staff: int
    voice: str
    order: int
    """Place in the document, for events that are otherwise alike."""
    bar: int = 0
    notated: NotatedLength | None = None
    heads: list[HeadDraft] = field(default_factory=list)
    knocks: list[Pitch] = field(default_factory=list)
    visible: bool = True
    cue: bool = False
    small: bool = False
    ossia: bool = False
    rest_pitch: Pitch | None = None
    grace: Grace | None = None
    bar_rest: bool = False
    """The source says that this rest fills its bar."""
    harmonic: bool = False
    harmonic_printed_at_sound: bool = False
    modification: Modification | None = None
    tuplet_starts: list[TupletStart] = field(default_factory=list)
    tuplet_stops: list[int] = field(default_factory=list)
    tuplets: tuple[TupletGroup, ...] = ()
    beam: Beam | None = None
    stem: str | None = None
    stem_with: str = ""
    tremolo: Tremolo | None = None
    arpeggio: Arpeggio | None = None
    articulations: list[tuple[str, str | None]] = field(default_factory=list)
    ornaments: list[Ornament] = field(default_factory=list)
    technical: list[tuple[str, str]] = field(default_factory=list)
    fermatas: list[tuple[str, str]] = field(default_factory=list)
    dynamics: list[str] = field(default_factory=list)
    spanners: list[SpannerEnd] = field(default_factory=list)
    lyrics: list[Lyric] = field(default_factory=list)

    @property
    def end(self) -> Fraction:
        """Offset at which it is over."""
        return self.offset + self.length

    @property
    def is_rest(self) -> bool:
        """Whether it has no notehead."""
        return not self.heads


@dataclass(slots=True)
class Placed:
    """An element that is read later, with its moment in the bar."""

    element: etree._Element
    offset: Fraction
    divisions: Fraction
    id: str = ""
    half: int | None = None
    """The staff of the half part in which it stands; None in a whole part."""


@dataclass(slots=True)
class MeasureDraft:
    """One measure of one part as walked through."""

    index: int
    element: etree._Element
    number: str
    implicit: bool
    events: list[EventDraft] = field(default_factory=list)
    directions: list[Placed] = field(default_factory=list)
    """``<direction>`` and ``<sound>`` elements in document order."""
    barlines: list[Placed] = field(default_factory=list)
    keys: list[tuple[Fraction, int | None, int, str | None]] = field(default_factory=list)
    """(offset, staff, fifths, mode)."""
    clefs: list[tuple[Fraction, int, str, int, int]] = field(default_factory=list)
    """(offset, staff, sign, line, octave change)."""
    time: TimeSignature | None = None
    """A signature that begins with this bar."""
    new_system: bool = False
    new_page: bool = False
    reach: Fraction = ZERO
    """The furthest moment that any note, rest or gap reaches."""
    sounding_reach: Fraction = ZERO
    """The same without gaps and without rests that are said to fill the bar."""
    staves: int = 1


def freeze(draft: EventDraft, bar_start: Fraction) -> Event:
    """The finished event, its heads from low to high."""
    heads = draft.heads
    if len(heads) > 1:
        heads = sorted(heads, key=lambda head: (_height(head.pitch), head.pitch.alter))
    return Event(
        id=draft.id,
        bar=draft.bar,
        onset=bar_start + draft.offset,
        length=draft.length,
        staff=draft.staff,
        voice=draft.voice,
        notated=draft.notated,
        heads=tuple(
            Head(
                id=head.id,
                pitch=head.pitch,
                tie_start=head.tie_start,
                tie_stop=head.tie_stop,
                let_ring=head.let_ring,
                accidental=head.accidental,
                shape=head.shape,
                parentheses=head.parentheses,
                fingerings=tuple(head.fingerings),
                spanners=tuple(head.spanners),
            )
            for head in heads
        ),
        knocks=tuple(draft.knocks),
        visible=draft.visible,
        cue=draft.cue,
        small=draft.small or draft.cue,
        rest_pitch=draft.rest_pitch,
        grace=draft.grace,
        harmonic=draft.harmonic,
        harmonic_printed_at_sound=draft.harmonic_printed_at_sound,
        tuplets=draft.tuplets,
        beam=draft.beam,
        stem=draft.stem,
        stem_with=draft.stem_with,
        tremolo=draft.tremolo,
        arpeggio=draft.arpeggio,
        articulations=tuple(draft.articulations),
        ornaments=tuple(draft.ornaments),
        technical=tuple(draft.technical),
        fermatas=tuple(draft.fermatas),
        dynamics=tuple(draft.dynamics),
        spanners=tuple(draft.spanners),
        lyrics=tuple(draft.lyrics),
    )


def _height(pitch: Pitch) -> int:
    return pitch.octave * 7 + "CDEFGAB".index(pitch.letter.value)
