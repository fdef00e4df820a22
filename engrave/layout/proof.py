"""The proof of a layout: that every mark stands where it belongs and touches nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.layout.collisions import (
    Nearness,
    nearnesses,
    past_the_edge,
    uneven_rows,
)
from pedalsetter.engrave.layout.contacts import too_near
from pedalsetter.engrave.layout.moments import PrintedMoments
from pedalsetter.engrave.layout.page_fill import PageFill, measured_fill
from pedalsetter.engrave.layout.placement import PlacedMark, Placement

__all__ = ["LayoutProof", "prove"]


@dataclass(frozen=True, slots=True)
class LayoutProof:
    """The figures of one engraving; lengths in staff spaces."""

    marks: int
    """How many marks were found on the pages."""
    pages: int
    systems: int
    overlaps: tuple[Nearness, ...]
    """Marks whose ink meets something; must be empty."""
    smallest_distance: float | None
    """Between a mark and anything else; None where nothing came near a mark."""
    rows_with_two_baselines: tuple[tuple[int, int, str], ...]
    """(page, line on the page from 0, row); must be empty."""
    past_line_end: tuple[str, ...]
    """Names of marks beyond the line or the paper; must be empty."""
    misplaced: tuple[str, ...]
    """Names of marks that stand at another moment than the plan's; must be empty."""
    missing: tuple[str, ...]
    """Names of marks that no page shows; must be empty."""
    crowded: tuple[Nearness, ...]
    """Marks that something of another system comes too near to; must be empty."""
    fill: tuple[PageFill, ...]
    """How full each page is, and whether it ends where a hand is free to turn it."""
    failures: tuple[str, ...]
    """A sentence for each of the above, with bar and beat, and for whatever else is wrong: music
    that is not on the page, or what the engraver warns of."""

    @property
    def holds(self) -> bool:
        """Whether nothing is wrong."""
        return not self.failures

    def __str__(self) -> str:
        """One line, as in ``20 marks on 2 pages, 0 overlaps, nearest 0.39 staff spaces``."""
        words = [
            f"{self.marks} {'mark' if self.marks == 1 else 'marks'} on "
            f"{self.pages} {'page' if self.pages == 1 else 'pages'}",
            f"{len(self.overlaps)} {'overlap' if len(self.overlaps) == 1 else 'overlaps'}",
        ]
        if self.smallest_distance is not None:
            words.append(f"nearest {self.smallest_distance:.2f} staff spaces")
        return ", ".join(words)


def prove(part: HarpPart, placement: Placement) -> LayoutProof:
    """Measure the engraved pages against the plan's marks.

    Cost: linear in the marks and in what stands near them.
    """
    near = tuple(nearnesses(placement.boxes))
    overlaps = tuple(nearness for nearness in near if nearness.is_overlap)
    uneven = uneven_rows(placement.boxes)
    past = tuple(mark.name for mark in past_the_edge(placement.boxes))
    moments = PrintedMoments(part)
    misplaced = tuple(placed.name for placed in placement.marks if not _in_place(placed, moments))
    missing = tuple(name for name, _ in placement.missing)
    crowded = tuple(filter(too_near, near))
    return LayoutProof(
        marks=len(placement.marks),
        pages=placement.pages,
        systems=placement.systems,
        overlaps=overlaps,
        smallest_distance=min((nearness.distance for nearness in near), default=None),
        rows_with_two_baselines=uneven,
        past_line_end=past,
        misplaced=misplaced,
        missing=missing,
        crowded=crowded,
        fill=measured_fill(part, placement.boxes),
        failures=(
            *_failures(part, placement, overlaps, uneven, past, misplaced),
            *_crowded(part, placement, crowded),
        ),
    )


def _in_place(placed: PlacedMark, moments: PrintedMoments) -> bool:
    """Whether a mark was printed at its moment; at a grace note its beat is enough for a name.

    A name of a string hangs on the very note, and another voice may have more grace notes there.
    """
    wanted = moments.of(placed.mark.place)
    if isinstance(placed.mark, StringMark):
        return placed.moment.time == wanted.time
    return placed.moment == wanted


def _crowded(part: HarpPart, placement: Placement, crowded: tuple[Nearness, ...]) -> Iterator[str]:
    placed = {mark.name: mark for mark in placement.marks}
    for nearness in crowded:
        yield (
            f"{part.told_place(placed[nearness.mark].mark.place)}: the mark is only "
            f"{nearness.distance:.2f} staff spaces from {_named(part, nearness.other, placed)} "
            "of another system"
        )


def _failures(
    part: HarpPart,
    placement: Placement,
    overlaps: tuple[Nearness, ...],
    uneven: tuple[tuple[int, int, str], ...],
    past: tuple[str, ...],
    misplaced: tuple[str, ...],
) -> Iterator[str]:
    placed = {mark.name: mark for mark in placement.marks}
    for nearness in overlaps:
        yield (
            f"{part.told_place(placed[nearness.mark].mark.place)}: the mark overlaps "
            f"{_named(part, nearness.other, placed)} by {-nearness.distance:.2f} staff spaces"
        )
    for page, line, row in uneven:
        yield f"page {page}, line {line + 1}: the {row.replace('-', ' ')} row is not straight"
    for name in past:
        yield f"{part.told_place(placed[name].mark.place)}: the mark runs past the line end"
    for name in misplaced:
        mark = placed[name]
        yield (
            f"{part.told_place(mark.mark.place)}: the mark was printed "
            f"{mark.moment.time} quarters after the beginning of the score instead of "
            f"{part.onset_of(mark.mark.place)}"
        )
    for _, missing in placement.missing:
        yield f"{part.told_place(missing.place)}: the mark is not on the page"


def _named(part: HarpPart, other: str, placed: dict[str, PlacedMark]) -> str:
    if other in placed:
        return f"the mark of {part.told_place(placed[other].mark.place)}"
    return f"a {other}"
