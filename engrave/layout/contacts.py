"""Things of the music that must not touch, nothing but what good engraving allows.

The engraver keeps most things apart by itself, and lets many touch on purpose: a head its stem, a
slur a staff line, a tie a dot. What it does not see is looked for when the page is reported
(``templates/printed.ily``): what runs from staff to staff, and rests of several voices.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping
from fractions import Fraction

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.layout.collisions import Nearness
from pedalsetter.engrave.layout.geometry import MarkBox, PageBoxes
from pedalsetter.engrave.layout.music_count import staff_told

__all__ = [
    "FORBIDDEN",
    "LEAST_BETWEEN_SYSTEMS",
    "beyond_their_bars",
    "contact_failures",
    "systems_with_contacts",
    "too_near",
]

FORBIDDEN: Mapping[tuple[str, str], str] = {
    ("Rest", "NoteHead"): "a rest stands on a head",
    ("DynamicText", "BarLine"): "a dynamic stands on a barline",
    ("DynamicText", "SpanBar"): "a dynamic stands on a barline",
    ("DynamicText", "Arpeggio"): "a dynamic stands on an arpeggio",
    ("Beam", "Stem"): "a beam stands away from a stem",
}
"""What is a fault, by LilyPond's names. Every other contact of two things of the music is allowed:
the engraver makes it on purpose, or keeps the two apart by itself."""

LEAST_BETWEEN_SYSTEMS = 0.25
"""Staff spaces between a mark and anything of another system."""

MOST_OVER_BARLINE = 0.5
"""Staff spaces by which a letter may reach over the barline of its bar, high above it."""

SLACK = 0.05
"""Staff spaces by which a system may reach beyond a line that it must keep."""


def contact_failures(part: HarpPart, boxes: PageBoxes) -> Iterator[str]:
    """A sentence for each forbidden contact, and for each system that leaves its place.

    A system may not run into the running head or the foot of its page, nor off the sheet.
    """
    starts = [bar.start for bar in part.bars]
    for contact in boxes.contacts:
        what = FORBIDDEN.get((contact.what, contact.other))
        if what is not None:
            bar = max(bisect_right(starts, contact.moment) - 1, 0)
            place = f"page {contact.page}, bar {part.printed_bar(bar)}"
            if contact.staff:
                place += f", {staff_told(part, contact.staff)}"
            yield f"{place}: {what}"
    for mark in beyond_their_bars(boxes):
        bar = max(bisect_right(starts, mark.moment) - 1, 0)
        yield f"page {mark.page}, bar {part.printed_bar(bar)}: a letter reaches beyond its bar"
    pages = {page.number: page for page in boxes.pages}
    for line in boxes.lines:
        if not line.is_system:
            continue
        page, box = pages[line.page], line.box
        bar = max(bisect_right(starts, line.start) - 1, 0)
        where = f"page {line.page}, the system that begins with bar {part.printed_bar(bar)}"
        if box.top < page.head - SLACK:
            yield f"{where}: something runs into the running head"
        if box.bottom > page.foot + SLACK:
            yield f"{where}: something runs into the foot of the page"
        if box.left < -SLACK or box.right > page.width + SLACK or box.bottom > page.height:
            yield f"{where}: something runs off the sheet"


def beyond_their_bars(boxes: PageBoxes) -> tuple[MarkBox, ...]:
    """The letters whose ink reaches over the barline of their bar, as if they were the next one's.

    At the end of a line that is told as running past it.
    """
    lines = {(line.page, line.line): line for line in boxes.lines}
    found = []
    for mark in boxes.marks:
        line = lines[mark.page, mark.line]
        over = [x for time, x in line.barlines if mark.moment < time < line.end]
        if "letters" in mark.row and over and mark.ink.right > over[0] + MOST_OVER_BARLINE:
            found.append(mark)
    return tuple(found)


def systems_with_contacts(boxes: PageBoxes) -> frozenset[Fraction]:
    """Where the systems begin in which something stands on what it must not touch, in quarters."""
    faults = {
        (contact.page, contact.line)
        for contact in boxes.contacts
        if (contact.what, contact.other) in FORBIDDEN
    }
    return frozenset(line.start for line in boxes.lines if (line.page, line.line) in faults)


def too_near(nearness: Nearness) -> bool:
    """Whether a mark is nearer to something of another system than it may be, without overlap."""
    return (
        nearness.other_system
        and not nearness.is_overlap
        and nearness.distance < LEAST_BETWEEN_SYSTEMS
    )
