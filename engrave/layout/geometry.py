"""The engraved page as boxes: what LilyPond reports about marks and what stands near them.

Unit: staff space of the part. Origin: top left corner of the paper, x to the right, y down. The
report is written by ``templates/boxes.ily`` in the run that makes the PDF, so it describes that
very page.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from pedalsetter.analysis.errors import EngravingError

__all__ = [
    "AT_NOTES",
    "Box",
    "Contact",
    "Count",
    "Line",
    "MarkBox",
    "Page",
    "PageBoxes",
    "Segment",
    "Thing",
    "read_boxes",
]

AT_NOTES = "pedal-strings"
"""What stands in the place of a row for marks that stand at their notes."""

Segment = tuple[float, float, float, float]
"""A straight piece of an outline: x0, y0, x1, y1."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the paper, in staff spaces."""

    left: float
    top: float
    right: float
    bottom: float

    def narrowed(self, air: float) -> Box:
        """This box without the air that it carries on the left and on the right."""
        return Box(self.left + air, self.top, self.right - air, self.bottom)


@dataclass(frozen=True, slots=True)
class Page:
    """One sheet."""

    number: int
    """Counted from 1."""
    width: float
    height: float
    space_mm: float
    """Millimetres in a staff space."""
    head: float = 0.0
    """Where its running head ends, seen from above."""
    foot: float = float("inf")
    """Where its foot begins."""
    is_left: bool = False
    """Whether it lies on the left where two pages are open; such a page has an even number."""


@dataclass(frozen=True, slots=True)
class Line:
    """A system or a title: one of the things that a page is stacked from."""

    page: int
    line: int
    """Counted from 0 on each page."""
    is_system: bool
    box: Box
    right: float
    """Where the line ends: the right margin."""
    staff_top: float = 0.0
    """The highest line of the upper staff."""
    staff_bottom: float = 0.0
    """The lowest line of the lower staff."""
    start: Fraction = Fraction(0)
    """Where a system begins in the music: quarters from the beginning of the score."""
    end: Fraction = Fraction(0)
    """Where it ends; the next system begins there."""
    music_left: float = 0.0
    """Where its music begins, after clef, key and time."""
    barlines: tuple[tuple[Fraction, float], ...] = ()
    """Moment and place of the barlines within a system, from left to right."""
    columns: tuple[tuple[Fraction, float], ...] = ()
    """Moment and place of whatever sounds or rests in a system, from left to right."""
    closest: float | None = None
    """From ``staff_bottom`` to the next system's ``staff_top`` where their outlines would touch;
    None for the last system."""


@dataclass(frozen=True, slots=True)
class MarkBox:
    """One pedal mark as it was printed."""

    name: str
    """Its name in the source."""
    row: str
    """``pedal-diagram``, ``pedal-letters``, ``pedal-letters-second``, or ``pedal-strings``."""
    page: int
    line: int
    box: Box
    """Ink, with the air that it carries on both sides."""
    air: float
    baseline: float
    moment: Fraction
    """Where it stands in the music: quarters from the beginning, each printed bar once."""
    grace: Fraction = Fraction(0)
    """Minus the quarters of grace time between it and ``moment``."""

    @property
    def ink(self) -> Box:
        """The box of what is printed."""
        return self.box.narrowed(self.air)


@dataclass(frozen=True, slots=True)
class Thing:
    """Anything else that was printed near a mark."""

    kind: str
    """LilyPond's name, such as ``NoteHead``, ``Beam`` or ``VoltaBracket``."""
    page: int
    line: int
    box: Box
    upper: tuple[Segment, ...] = ()
    """Upper outline, where the thing does not fill its box; else empty."""
    lower: tuple[Segment, ...] = ()
    moment: Fraction | None = None
    """Where a slur begins: quarters from the beginning of the score."""


@dataclass(frozen=True, slots=True)
class Count:
    """How many things of a kind were printed at one moment of one staff."""

    kind: str
    """LilyPond's name, such as ``NoteHead``; ``NoteHead~`` is one that nothing is seen of."""
    page: int
    line: int
    staff: int
    """Of its system, from 1 at the top; 0 for what belongs to no staff."""
    moment: Fraction
    """Where it begins: quarters from the beginning of the score."""
    number: int


@dataclass(frozen=True, slots=True)
class Contact:
    """Two things of the music that meet, or a beam and a stem that do not."""

    what: str
    """LilyPond's name, as for the next."""
    other: str
    page: int
    line: int
    moment: Fraction
    """Of the first, in quarters from the beginning of the score."""
    staff: int = 0
    """Of the first, from 1 at the top; 0 for what belongs to no staff."""


@dataclass(frozen=True, slots=True)
class PageBoxes:
    """All that one run of the engraver reported."""

    pages: tuple[Page, ...]
    lines: tuple[Line, ...]
    """By page and from top to bottom."""
    marks: tuple[MarkBox, ...]
    things: tuple[Thing, ...]
    """What stands near the marks."""
    counts: tuple[Count, ...] = ()
    """All that was printed, pedal marks aside."""
    contacts: tuple[Contact, ...] = ()
    """What was found to meet, of what is looked for."""

    def system_at(self, moment: Fraction) -> Line | None:
        """The system that shows a moment, in quarters from the beginning; None if none does.

        The moment of a line break belongs to the system that begins there.
        """
        systems = [line for line in self.lines if line.is_system and line.start <= moment]
        if not systems or moment > systems[-1].end:
            return None
        return systems[-1]


def read_boxes(text: str) -> PageBoxes:
    """Read a report of boxes, one JSON object a line.

    Raises:
        EngravingError: the report is cut off or is no such report.
    """
    pages: list[Page] = []
    lines: list[Line] = []
    marks: list[MarkBox] = []
    things: list[Thing] = []
    counts: list[Count] = []
    contacts: list[Contact] = []
    try:
        for row in map(json.loads, text.splitlines()):
            match row["kind"]:
                case "page":
                    pages.append(_page(row))
                case "system" | "title":
                    lines.append(_line(row))
                case "mark":
                    marks.append(_mark(row))
                case "thing":
                    things.append(_thing(row))
                case "printed":
                    counts += _counts(row)
                case "contact":
                    contacts.append(_contact(row))
    except (ValueError, KeyError, TypeError) as error:
        raise EngravingError(
            "the engraver's report of what stands where cannot be read",
            mend="Use LilyPond 2.24 or 2.25.",
        ) from error
    return PageBoxes(
        tuple(pages), tuple(lines), tuple(marks), tuple(things), tuple(counts), tuple(contacts)
    )


def _page(row: Mapping[str, Any]) -> Page:
    return Page(
        row["page"],
        row["width"],
        row["height"],
        row["space_mm"],
        row["head"],
        row["foot"],
        row["left"],
    )


def _contact(row: Mapping[str, Any]) -> Contact:
    moment = 4 * Fraction(row["moment"])
    return Contact(row["what"], row["other"], row["page"], row["line"], moment, row["staff"])


def _line(row: Mapping[str, Any]) -> Line:
    return Line(
        row["page"],
        row["line"],
        row["kind"] == "system",
        Box(*row["box"]),
        row["right"],
        row["staves"][0],
        row["staves"][1],
        4 * Fraction(row.get("from", 0)),
        4 * Fraction(row.get("to", 0)),
        row.get("prefix", 0.0),
        tuple(sorted((4 * Fraction(moment), x) for moment, x in row.get("bars", ()))),
        tuple(sorted((4 * Fraction(moment), x) for moment, x in row.get("columns", ()))),
        row.get("closest"),
    )


def _mark(row: Mapping[str, Any]) -> MarkBox:
    return MarkBox(
        row["name"],
        row["class"],
        row["page"],
        row["line"],
        Box(*row["box"]),
        row["air"],
        row["baseline"],
        4 * Fraction(row["moment"]),
        4 * Fraction(row["grace"]),
    )


def _counts(row: Mapping[str, Any]) -> Iterator[Count]:
    for thing in row["things"]:
        kind, staff, moment, number = thing.split()
        moment = 4 * Fraction(moment)
        yield Count(kind, row["page"], row["line"], int(staff), moment, int(number))


def _thing(row: Mapping[str, Any]) -> Thing:
    return Thing(
        row["class"],
        row["page"],
        row["line"],
        Box(*row["box"]),
        tuple((a, b, c, d) for a, b, c, d in row.get("up", ())),
        tuple((a, b, c, d) for a, b, c, d in row.get("down", ())),
        4 * Fraction(row["moment"]) if "moment" in row else None,
    )
