"""A harp part as it was read: what every reader returns and every later stage trusts.

Times are exact ``Fraction`` of a quarter note. *Score time* runs from the first bar to the last as
printed, each bar once; what a player does with repeats is playing order and belongs to planning.
A :class:`Place` names a moment on the page: a bar (counted from 0) and the distance from its
barline.

Everything that the page must show is here, even where the planner has no use for it, so that the
engraver needs nothing but this value and the marks.
"""

from pedalsetter.analysis.part.bars import Bar, BarlineStyle, Ending, TimeSignature
from pedalsetter.analysis.part.directions import FOR_ALL_STAVES, SPAN_ENDS, Direction, DirectionKind
from pedalsetter.analysis.part.events import Event, Head
from pedalsetter.analysis.part.form import Jump, JumpKind, Section, SectionReason
from pedalsetter.analysis.part.glissandi import glissando_lines
from pedalsetter.analysis.part.harp_part import HarpPart
from pedalsetter.analysis.part.in_force import ClefChange, KeyChange, Tempo
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
from pedalsetter.analysis.part.places import Place
from pedalsetter.analysis.part.source import DoubtfulWords, Notice, Source, SourceMark, by_kind

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
    "by_kind",
    "glissando_lines",
]
