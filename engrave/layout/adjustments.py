"""What an engraving may have otherwise than the engraver would make it by itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.engrave.layout.rows import Row, row_of_names
from pedalsetter.engrave.notation.remedied import AS_WRITTEN, Remedied

__all__ = ["AS_ENGRAVED", "BEFORE_BARLINE", "BESIDE_BARLINE", "SMALLER", "Adjustments"]

SMALLER = 1.5
"""Steps of size by which a diagram in a narrow place is smaller than the others."""


BEFORE_BARLINE = (
    "-\\tweak extra-spacing-width #'(0.4 . -0.8) -\\tweak extra-spacing-height #'(-12 . 0.2) "
)
"""Lets letters under which no note follows push the barline away, so that they end in their bar;
high above it their own air may reach over it."""

BESIDE_BARLINE = "-\\tweak extra-spacing-height #'(-12 . 12) "
"""The same between the staves, where the barline would meet them."""

_PUSHING = "-\\tweak extra-spacing-height #'(-inf.0 . +inf.0) "
"""The same, however far they stand above it, and with their air."""


@dataclass(frozen=True, slots=True)
class Adjustments:
    """Departures from the engraver's own layout."""

    ragged_last_page: bool = False
    """The last page is not stretched to its foot."""
    least_systems: int = 1
    """No page has fewer systems, if it can be helped."""
    dense_pages: bool = True
    """Pages take what fits by its true height; otherwise nearly by the engraver's own count."""
    free_turns: bool = False
    """Right-hand pages end where a hand is free to turn."""
    room: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Name of a mark to the staff spaces kept free below its row, or if negative above it; of a
    string's name, to those between it and what it stands over or under."""
    beyond: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """The same for the other side of the row, where another system comes near."""
    shift: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Name of a mark to the staff spaces by which it stands further left than its note."""
    second_row: frozenset[str] = frozenset()
    """Names of letters that stand in a row of their own above the others."""
    named_in_row: frozenset[str] = frozenset()
    """Names of names of strings that stand in a row over or under the staves, not at the note."""
    harp_staves: int | None = None
    """How many staves are the harp's where others stand beside it; None: all of the part."""
    outer: frozenset[str] = frozenset()
    """Names of marks that stand outside both staves, for want of room between them."""
    breaks: frozenset[int] = frozenset()
    """Indices of bars before which a new system begins."""
    pushing: frozenset[str] = frozenset()
    """Names of letters that push the barline away."""
    smaller: frozenset[str] = frozenset()
    """Names of diagrams that are drawn smaller."""
    systems: frozenset[int] | None = None
    """Indices of the bars before which systems begin, and before no others but ``breaks``; None
    leaves it to the engraver."""
    pages: frozenset[int] | None = None
    """Indices of the bars before which pages begin, and before no others, where ``systems`` are
    told; None leaves it to the engraver."""
    staff_size_points: float | None = None
    """Height of the staves, where it is not that of the style."""
    moved: Mapping[str, Place] = field(default_factory=lambda: MappingProxyType({}))
    """Name of a diagram to where it stands instead: the beginning of the next system."""
    head_room: float = 0.0
    """Staff spaces more below the running head."""
    foot_room: float = 0.0
    """Staff spaces more above the foot of the page."""
    music: Remedied = AS_WRITTEN
    """What of the music is written otherwise."""
    tried: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    """Name of a mark to how many remedies it has had."""

    def row_of_names(self, mark: StringMark, part: HarpPart) -> Row | None:
        """Where a name of a string has a row; None for a staff between two others."""
        return row_of_names(mark.staff, self.harp_staves or part.staves)

    def applied(self, name: str, event: str, size: float = 0.0) -> str:
        """The event of a mark in its lane, with what this engraving wants for it.

        ``size`` is that of the other marks of its row, in steps.
        """
        if name in self.pushing:
            plain = event.removeprefix(BEFORE_BARLINE).removeprefix(BESIDE_BARLINE)
            event = f"{_PUSHING}{plain}"
        tweaks = []
        if name in self.shift:
            tweaks.append(f"\\tweak X-offset #{-self.shift[name]:g}")
        if name in self.smaller:
            tweaks.append(f"\\tweak font-size #{size - SMALLER:g}")
        if tweaks:
            event = f"-{' '.join(tweaks)} {event}"
        if name in self.room:
            event = f"{event} \\pedalRoom #{self.room[name]:g}"
        if name in self.beyond:
            event = f"{event} \\pedalRoom #{self.beyond[name]:g}"
        return event


AS_ENGRAVED = Adjustments()
"""No adjustment."""
