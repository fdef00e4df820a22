"""Bars with their barlines, endings and time signatures."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

__all__ = ["Bar", "BarlineStyle", "Ending", "TimeSignature"]


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
