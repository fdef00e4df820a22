"""The scores under ``examples/``: what each holds, and the spots that are unplayable on purpose."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from zipfile import ZipFile

from lxml import etree

from pedalsetter.analysis.pedal_plan import FindingKind

__all__ = [
    "CHROMATIC_STUDY",
    "EVENING_WATER",
    "EXAMPLES",
    "ORCHESTRAL_NOCTURNE",
    "RESPELLED_SPOTS",
    "THREE_TIMES_ROUND",
    "UNPLAYABLE_SPOTS",
    "Example",
    "Spot",
]

FOLDER = Path(__file__).resolve().parent.parent / "examples"


@dataclass(frozen=True, slots=True)
class Example:
    """One score, as it is meant to be."""

    file: str
    title: str
    parts: tuple[str, ...]
    bars: int
    """With the pickup bar, each bar once."""
    harp_id: str
    fifths: tuple[int, ...]
    """Key signatures in order, sounding."""
    rehearsal_marks: tuple[str, ...] = ()

    @property
    def path(self) -> Path:
        """Where the file lies."""
        return FOLDER / self.file

    def root(self) -> etree._Element:
        """The ``score-partwise`` element, also from a compressed file."""
        if self.path.suffix != ".mxl":
            return etree.parse(self.path).getroot()
        with ZipFile(self.path) as archive:
            container = etree.fromstring(archive.read("META-INF/container.xml"))
            inner = container.find(".//rootfile")
            assert inner is not None
            return etree.fromstring(archive.read(inner.get("full-path", "")))


EVENING_WATER = Example(
    file="evening-water.musicxml",
    title="Evening Water",
    parts=("Harp",),
    bars=55,
    harp_id="P1",
    fifths=(4, 0, -4, 5, 4),
    rehearsal_marks=("A", "B", "C"),
)
CHROMATIC_STUDY = Example(
    file="chromatic-study.musicxml",
    title="The Crooked Stair",
    parts=("Harp",),
    bars=28,
    harp_id="P1",
    fifths=(0,),
    rehearsal_marks=("A", "B", "C"),
)
ORCHESTRAL_NOCTURNE = Example(
    file="orchestral-nocturne.musicxml",
    title="Lantern Nocturne",
    parts=(
        "Flute",
        "Oboe",
        "Clarinet in B♭",
        "Bassoon",
        "Horn in F",
        "Harp",
        "Violin I",
        "Violin II",
        "Viola",
        "Cello",
        "Double Bass",
    ),
    bars=40,
    harp_id="P6",
    fifths=(-3, 1, -3),
    rehearsal_marks=("A", "B", "C"),
)
THREE_TIMES_ROUND = Example(
    file="three-times-round.mxl",
    title="Three Times Round",
    parts=("Harp",),
    bars=34,
    harp_id="P1",
    fifths=(1,),
)

EXAMPLES = (EVENING_WATER, CHROMATIC_STUDY, ORCHESTRAL_NOCTURNE, THREE_TIMES_ROUND)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place of the chromatic study that no harpist can play as written."""

    bar: int
    """Printed number."""
    offset: Fraction
    """Quarters after the barline."""
    until: tuple[int, Fraction]
    """The last such place of the spot, itself included."""
    earliest: tuple[int, Fraction]
    """Where a finding about it may stand at the earliest: a pedal moves before its note."""
    notes: tuple[str, ...]
    """All that is struck at the first place, lowest first, or the notes of the run in order."""
    kinds: tuple[FindingKind, ...]
    """What a finding may fairly call it."""
    why: str


def _at(
    bar: int,
    beat: int,
    notes: str,
    kinds: tuple[FindingKind, ...],
    why: str,
    earliest_beat: int | None = None,
) -> Spot:
    place = (bar, Fraction(beat - 1))
    earliest = place if earliest_beat is None else (bar, Fraction(earliest_beat - 1))
    return Spot(*place, place, earliest, tuple(notes.split()), kinds, why)


_RUN = (
    "C♯4 D4 D♯4 E4 F4 F♯4 G4 G♯4 A4 A♯4 B4 C5 C♯5 D5 D♯5 E5 E♭5 D5 D♭5 C5 B4 B♭4 A4 A♭4 G4 G♭4 F4"
)

_NOT_TOGETHER = (FindingKind.TWO_POSITIONS, FindingKind.NO_SETTING)

UNPLAYABLE_SPOTS: tuple[Spot, ...] = (
    _at(
        5,
        3,
        "C3 G3 B4 C♯5 D5 G5",
        _NOT_TOGETHER,
        "C♮ and C♯ at once, and B♮ and D♮ bar the way to B♯ and D♭",
    ),
    Spot(
        9,
        Fraction(1, 4),
        (10, Fraction(3)),
        (9, Fraction(0)),
        tuple(_RUN.split()),
        (FindingKind.FOOT_TOO_FAST,),
        "a chromatic scale in sixteenths at 126 quarters a minute: a pedal for every other note",
    ),
    _at(
        13,
        1,
        "A1 A2 G4 A♭4 C5 E♭5",
        _NOT_TOGETHER,
        "G, A♭ and A at once: both strings for A♭ are taken",
    ),
    _at(
        17,
        2,
        "E3 G3 F♯4",
        (*_NOT_TOGETHER, FindingKind.RINGING),
        "F♯ with E♮ and G♮ while the tied F♮ still sounds",
        earliest_beat=1,
    ),
    _at(20, 4, "A7", (FindingKind.OUT_OF_RANGE,), "above the top string, G7"),
    _at(22, 1, "A0 A1 E5", (FindingKind.OUT_OF_RANGE,), "below the lowest string, C1"),
    _at(
        24,
        1,
        "C♯1 C♯2 E5",
        (FindingKind.NO_PEDAL,),
        "C♯1, where bars 9 and 28 want C♮1 and bars 7 and 24 D♮1: neither string has a pedal",
    ),
)
"""In order of place. Everything else in the study can be played."""

RESPELLED_SPOTS: tuple[tuple[int, Fraction, str, str], ...] = ((14, Fraction(0), "C♯5", "D♭"),)
"""(bar, offset, written, string): C♮ and C♯ at once, playable because the D string is free."""
