"""A harp part as it was read: what every reader returns and every later stage trusts.

Times are exact ``Fraction`` of a quarter note. *Score time* runs from the first bar to the last as
printed, each bar once; what a player does with repeats is playing order and belongs to planning.
A :class:`Place` names a moment on the page: a bar (counted from 0) and the distance from its
barline.

Everything that the page must show is here, even where the planner has no use for it, so that the
engraver needs nothing but this value and the marks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from pedalsetter.analysis.harp import Position, Setting
from pedalsetter.analysis.respelling import Pitch

__all__ = [
    "FOR_ALL_STAVES",
    "SPAN_ENDS",
    "Arpeggio",
    "Bar",
    "BarlineStyle",
    "Beam",
    "ClefChange",
    "Direction",
    "DirectionKind",
    "DoubtfulWords",
    "Ending",
    "Event",
    "Grace",
    "HarpPart",
    "Head",
    "Jump",
    "JumpKind",
    "KeyChange",
    "Lyric",
    "NotatedLength",
    "Notice",
    "Ornament",
    "Place",
    "Section",
    "SectionReason",
    "Source",
    "SourceMark",
    "SpannerEnd",
    "Tempo",
    "TimeSignature",
    "Tremolo",
    "TupletGroup",
]


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A moment on the page."""

    bar: int
    """Index of the bar in score order, from 0."""
    offset: Fraction
    """Quarters after the bar's left barline."""
    grace: int = 0
    """0 for what is struck at the offset itself; the grace notes before it are −1 (the nearest),
    −2 … so that places sort in the order of playing."""


class BarlineStyle(Enum):
    """How a barline is drawn; the values are MusicXML's ``bar-style`` names."""

    REGULAR = "regular"
    DOTTED = "dotted"
    DASHED = "dashed"
    HEAVY = "heavy"
    DOUBLE = "light-light"
    FINAL = "light-heavy"
    HEAVY_LIGHT = "heavy-light"
    HEAVY_HEAVY = "heavy-heavy"
    TICK = "tick"
    SHORT = "short"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Ending:
    """A volta bracket that covers the bar."""

    numbers: tuple[int, ...]
    """The passes on which it is played, from 1."""
    text: str
    """As printed, for example ``1.`` or ``1, 2.``."""
    starts: bool
    """The bracket begins at this bar's left barline."""
    stops: bool
    """The bracket ends at this bar's right barline."""
    open_end: bool = False
    """The bracket ends without a downward jog (MusicXML ``discontinue``)."""


@dataclass(frozen=True, slots=True)
class TimeSignature:
    """A time signature; ``groups`` has more than one member when it is additive."""

    groups: tuple[tuple[tuple[int, ...], int], ...]
    """Each member is (beats as printed, beat type): 3+2/8 is ``(((3, 2), 8),)``."""
    symbol: str = "normal"
    """``normal``, ``common``, ``cut``, ``single-number`` or ``none`` (senza misura, no sign)."""

    @property
    def length(self) -> Fraction:
        """Length of a full bar in quarters."""
        return sum((Fraction(4 * sum(beats), kind) for beats, kind in self.groups), Fraction(0))

    @property
    def beat(self) -> Fraction:
        """Length of a felt beat in quarters: dotted in 6/8, 9/8, 12/8, else the lower figure."""
        beats, kind = self.groups[0]
        count = sum(beats)
        if len(self.groups) == 1 and len(beats) == 1 and kind >= 8 and count > 3 and count % 3 == 0:
            return Fraction(12, kind)
        return Fraction(4, kind)

    @property
    def count_unit(self) -> Fraction:
        """Length in quarters of what players count as "beat 1, 2, 3": 4 over the lower figure."""
        return Fraction(4, self.groups[0][1])

    def __str__(self) -> str:
        return " + ".join(f"{'+'.join(map(str, beats))}/{kind}" for beats, kind in self.groups)


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar of the score, in score order."""

    index: int
    number: str
    """As printed, for example ``12``, ``12a`` or ``X1``."""
    start: Fraction
    """Quarters from the beginning of the score."""
    length: Fraction
    """Real length in quarters: pickups and split bars are shorter than their time signature."""
    time: TimeSignature
    """The signature in force."""
    movement: int = 0
    """Movements are counted from 0; each begins with a setting of its own."""
    implicit: bool = False
    """Not counted: a pickup, or a bar that a repeat or a page has split."""
    left: BarlineStyle = BarlineStyle.REGULAR
    right: BarlineStyle = BarlineStyle.REGULAR
    repeat_start: bool = False
    repeat_times: int = 0
    """How often the section that ends here is played in all; 0 where no repeat ends."""
    ending: Ending | None = None
    new_system: bool = False
    """The source begins a system here."""
    new_page: bool = False
    inner_barlines: tuple[tuple[Fraction, BarlineStyle], ...] = ()
    """Barlines within the bar: (offset in quarters, style)."""
    barline_fermatas: tuple[str, ...] = ()
    """Fermatas on the right barline: ``above`` or ``below``."""

    @property
    def end(self) -> Fraction:
        """Quarters from the beginning of the score to the right barline."""
        return self.start + self.length


@dataclass(frozen=True, slots=True)
class NotatedLength:
    """A printed note value: ``2 ** -log`` whole notes, lengthened by ``dots``."""

    log: int
    """0 whole, 1 half, 2 quarter … 10; −1 breve, −2 longa, −3 maxima."""
    dots: int = 0

    @property
    def quarters(self) -> Fraction:
        """Length in quarters, tuplets disregarded."""
        base = Fraction(4) / 2**self.log if self.log >= 0 else Fraction(4 * 2**-self.log)
        return base * (2 - Fraction(1, 2**self.dots))


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
    visible: bool = True
    """False for a rest (or note) that is there only to keep time."""
    cue: bool = False
    """A cue: shown small, never played."""
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
    """``rectangle``, ``circle`` or None."""
    number: int = 1
    """Pairs starts with stops."""
    shape: str = ""
    """Wedge: ``crescendo`` or ``diminuendo``; octave: ``8va``, ``8vb``, ``15ma``, ``15mb``."""
    niente: bool = False
    beat_unit: NotatedLength | None = None
    """Metronome: the note before the equals sign."""
    beat_unit_to: NotatedLength | None = None
    """Metric modulation: the note after the equals sign, in place of a figure."""
    parentheses: bool = False


class JumpKind(Enum):
    """A sign that changes the playing order."""

    SEGNO = "segno"
    CODA = "coda"
    TO_CODA = "to coda"
    FINE = "fine"
    DA_CAPO = "da capo"
    DAL_SEGNO = "dal segno"


@dataclass(frozen=True, slots=True)
class Jump:
    """A sign of navigation: targets stand at the start of their bar, the others at its end."""

    kind: JumpKind
    bar: int
    label: str = ""
    """Pairs several segnos or codas; may be empty."""
    al_coda: bool = False
    al_fine: bool = False


@dataclass(frozen=True, slots=True)
class ClefChange:
    """A clef from a moment on."""

    onset: Fraction
    bar: int
    staff: int
    sign: str
    """``G``, ``F``, ``C``, ``percussion`` …"""
    line: int
    octave_change: int = 0


@dataclass(frozen=True, slots=True)
class KeyChange:
    """A key signature from a moment on."""

    onset: Fraction
    bar: int
    fifths: int
    """−7 (seven flats) to 7 (seven sharps)."""
    mode: str | None = None
    staff: int | None = None
    """None for all staves."""


@dataclass(frozen=True, slots=True)
class Tempo:
    """Speed from a moment on."""

    onset: Fraction
    quarters_per_minute: Fraction
    towards: Fraction | None = None
    """Gradual change: the speed reached at the next :class:`Tempo`, or None where it is steady."""


class SectionReason(Enum):
    """Why a section begins."""

    START = "start"
    MOVEMENT = "movement"
    REHEARSAL = "rehearsal mark"
    DOUBLE_BAR = "double bar"
    KEY = "key change"
    HEADING = "heading"
    LONG_REST = "long rest"
    SEGNO = "segno"
    CODA = "coda"


@dataclass(frozen=True, slots=True)
class Section:
    """A place where a player may begin again, so that the whole setting is wanted there."""

    bar: int
    """Index of the first bar."""
    reasons: tuple[SectionReason, ...]
    label: str = ""
    """Rehearsal mark or heading, if it has one."""


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
class HarpPart:
    """One harp part, whole: the value that every reader returns."""

    source: Source
    title: str
    composer: str
    part_name: str
    staves: int
    bars: tuple[Bar, ...]
    events: tuple[Event, ...]
    """By onset, then graces before their main note, then staff and voice."""
    directions: tuple[Direction, ...] = ()
    clefs: tuple[ClefChange, ...] = ()
    keys: tuple[KeyChange, ...] = ()
    tempi: tuple[Tempo, ...] = ()
    jumps: tuple[Jump, ...] = ()
    sections: tuple[Section, ...] = ()
    source_marks: tuple[SourceMark, ...] = ()
    subtitle: str = ""
    lyricist: str = ""
    arranger: str = ""
    rights: str = ""
    movement_titles: tuple[str, ...] = ()
    warnings: tuple[Notice, ...] = ()
    source_language: str = ""
    """The language of the source's pedal letters, as in ``German``; several that would read them
    alike are joined (``French or Italian``). Empty where the source has no letters."""
    doubtful_words: tuple[DoubtfulWords, ...] = ()
    """By place."""

    @property
    def length(self) -> Fraction:
        """Quarters from the first barline to the last, each bar once."""
        return self.bars[-1].end if self.bars else Fraction(0)

    def onset_of(self, place: Place) -> Fraction:
        """Score time of a place, in quarters."""
        return self.bars[place.bar].start + place.offset

    def place_of(self, event: Event) -> Place:
        """Where an event stands on the page."""
        return Place(event.bar, event.onset - self.bars[event.bar].start)

    def printed_bar(self, bar: int) -> str:
        """The number printed at a bar given by its index."""
        return self.bars[bar].number

    def printed_beat(self, place: Place) -> str:
        """The beat as a player counts it: ``1``, ``2½``, ``3⅓`` as ``3+1/3``.

        Beats are counted in the lower figure of the signature. In a pickup, and in the first part
        of a split bar, counting begins so that the last beat of the bar is the signature's last.
        """
        count = self.beat_count(place)
        whole, rest = int(count), count - int(count)
        if not rest:
            return str(whole)
        if rest == Fraction(1, 2):
            return f"{whole}½"
        return f"{whole}+{rest}"

    def beat_count(self, place: Place) -> Fraction:
        """The beat as :meth:`printed_beat` prints it, as a number: 1 is the first."""
        bar = self.bars[place.bar]
        missing = bar.time.length - bar.length
        lead = missing if bar.implicit and bar.index == self._first_of_movement(bar) else 0
        return (place.offset + max(lead, Fraction(0))) / bar.time.count_unit + 1

    def told_place(self, place: Place) -> str:
        """A place in words, as messages and tables give it: ``bar 12, beat 2½``."""
        return f"bar {self.printed_bar(place.bar)}, beat {self.printed_beat(place)}"

    def movement_title(self, movement: int) -> str:
        """The title of a movement counted from 0, or its number from 1 if it has none."""
        titled = self.movement_titles[movement : movement + 1]
        return next((title for title in titled if title), str(movement + 1))

    def _first_of_movement(self, bar: Bar) -> int:
        index = bar.index
        while index and self.bars[index - 1].movement == bar.movement:
            index -= 1
        return index

    def notes(self) -> Iterator[tuple[Event, Head]]:
        """Every notehead with its event, in order; cues are included."""
        for event in self.events:
            for head in event.heads:
                yield event, head
