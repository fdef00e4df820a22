"""Pages on which marks depend on where systems and pages begin: engrave, look, mark, engrave again.

Where a system begins is known only once it is engraved, and a diagram at its head needs room. So
the part is engraved first without such diagrams, then with them and with its systems held where
they were, until every system or page that wants a diagram has one; pages may still shift while
systems grow. The last engraving is measured, and what it lacks is a failure of its proof.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from pedalsetter.analysis.marks.marking import Markings, MarkingWishes, Reason
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.placement import Placement
from pedalsetter.engrave.output.pages.engraver import Limits, WaitingEngraver
from pedalsetter.engrave.output.pages.press import EngravedPart, engrave_part

__all__ = ["MOST_ROUNDS", "Marking", "SettledPart", "engrave_settled", "heads_of_source"]

Marking = Callable[[MarkingWishes], Markings]
"""Places the marks of one plan where a style wishes them. One that heeds no wish, as where the
marks are those of the source, is printed as it is."""

MOST_ROUNDS = 5
"""Engravings with marks at the heads of systems or pages; one or two are the rule."""

_FREE_ROUNDS = 2


@dataclass(frozen=True, slots=True)
class SettledPart:
    """An engraved part, and the marks that were printed on it."""

    engraved: EngravedPart
    markings: Markings


def engrave_settled(
    part: HarpPart,
    mark: Marking,
    style: HouseStyle,
    *,
    standalone: bool = True,
    source_systems: bool = False,
    limits: Limits | None = None,
    waiting: WaitingEngraver | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> SettledPart:
    """Mark a part as ``style`` wishes, engrave it and prove its layout.

    ``meanwhile`` is done while LilyPond works at the first engraving.

    Where the style wants diagrams at the heads of systems or pages, at least two engravings are
    made. A system or page that begins without the diagram that it should have stays in the proof's
    ``failures``.

    Raises:
        EngravingError: the engraver is missing or failed.
    """

    def press(markings: Markings, before: EngravedPart | None) -> EngravedPart:
        systems, pages = (None, None) if before is None else _breaks(part, before.placement)
        return engrave_part(
            part,
            markings,
            style,
            standalone=standalone,
            source_systems=source_systems,
            systems=systems,
            pages=pages,
            limits=limits,
            waiting=waiting if before is None else None,
            meanwhile=meanwhile if before is None else None,
        )

    markings = mark(style.wishes)
    engraved = press(markings, None)
    marked: dict[int, Reason] = {}
    for count in range(MOST_ROUNDS):
        heads = dict(_heads(part, engraved.placement, style))
        # Once pages have begun to go to and fro, what was marked stays marked: a diagram too many
        # at the head of a system does no harm, and so it comes to an end.
        wanted = heads if count < _FREE_ROUNDS else {**marked, **heads}
        if wanted == marked:
            return SettledPart(engraved, markings)
        again = mark(replace(style.wishes, also_at=tuple(sorted(wanted.items()))))
        if again == markings:
            return SettledPart(engraved, markings)
        marked, markings = wanted, again
        engraved = press(markings, engraved)
    lacking = [
        f"bar {part.printed_bar(bar)}: the {reason.value} begins without its diagram"
        for bar, reason in _heads(part, engraved.placement, style)
        if bar not in marked
    ]
    proof = replace(engraved.proof, failures=(*engraved.proof.failures, *lacking))
    return SettledPart(replace(engraved, proof=proof), markings)


def _breaks(part: HarpPart, placement: Placement) -> tuple[frozenset[int], frozenset[int]]:
    """Bars at which systems, and of these at which pages begin, but for the first."""
    systems = [line for line in placement.boxes.lines if line.is_system]
    starts = {line.start for line in systems}
    heads = {below.start for above, below in pairwise(systems) if above.page != below.page}
    bars = part.bars[1:]
    return (
        frozenset(bar.index for bar in bars if bar.start in starts),
        frozenset(bar.index for bar in bars if bar.start in heads),
    )


def _heads(part: HarpPart, placement: Placement, style: HouseStyle) -> Iterator[tuple[int, Reason]]:
    """Bars at which a system or page begins that wants a diagram, and which of the two."""
    bars = {bar.start: bar.index for bar in part.bars if bar.length}
    page = 0
    sheets = placement.boxes.pages
    for line in placement.boxes.lines:
        if line.is_system and line.start in bars:
            # Two pages lie open side by side, and nothing is turned.
            turned = line.page > 1 and sheets[line.page - 1].is_left and len(sheets) > 2
            reason = _reason(style, turned=turned, begins_page=line.page != page)
            page = line.page
            if reason is not None:
                yield bars[line.start], reason


def heads_of_source(part: HarpPart, style: HouseStyle) -> tuple[tuple[int, Reason], ...] | None:
    """The same for the systems and pages of the source itself, to be marked in its own file.

    None where the source tells of none, so that those of our pages must serve, or where the style
    wants no such diagrams.
    """
    if not any(bar.new_system or bar.new_page for bar in part.bars[1:]):
        return None
    found = []
    left = style.first_page == "left"
    last = 1 + sum(bar.new_page for bar in part.bars[1:])
    page = 1
    for bar in part.bars:
        begins_page = bar.index == 0 or bar.new_page
        page += begins_page and bar.index > 0
        turned = page > 1 and page % 2 == left and last > 2
        reason = _reason(style, turned=turned, begins_page=begins_page)
        if reason is not None and (begins_page or bar.new_system):
            found.append((bar.index, reason))
    wanted = style.diagrams_at_systems or style.diagrams_at_pages != "none"
    return tuple(found) if wanted else None


def _reason(style: HouseStyle, *, turned: bool, begins_page: bool) -> Reason | None:
    """Why a system wants a diagram at its head; None if it wants none."""
    wanted = {"none": False, "turns": turned, "all": True}[style.diagrams_at_pages]
    if begins_page and wanted:
        return Reason.PAGE
    return Reason.SYSTEM if style.diagrams_at_systems else None
