"""Pages on which marks depend on where systems and pages begin: engrave, look, mark, engrave again.

Where a system begins is known only once it is engraved, and a diagram at its head needs room. So
the part is engraved first without such diagrams, then with them and with its systems held where
they were, until every system or page that wants a diagram has one; pages may still shift while
systems grow. The last engraving is measured, and what it lacks is a failure of its proof.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from pedalsetter.analysis.marking import Markings, MarkingWishes, Reason
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.placement import Placement
from pedalsetter.engrave.output.engraver import Limits, WaitingEngraver
from pedalsetter.engrave.output.press import EngravedPart, engrave_part

__all__ = ["MOST_ROUNDS", "Marking", "SettledPart", "engrave_settled"]

Marking = Callable[[MarkingWishes], Markings]
"""Places the marks of one plan where a style wishes them."""

MOST_ROUNDS = 5
"""Engravings with marks at the heads of systems or pages; two are the rule."""


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
) -> SettledPart:
    """Mark a part as ``style`` wishes, engrave it and prove its layout.

    Where the style wants diagrams at the heads of systems or pages, at least two engravings are
    made. A system or page that begins without the diagram that it should have stays in the proof's
    ``failures``.

    Raises:
        EngravingError: the engraver is missing or failed.
    """

    def press(markings: Markings, systems: frozenset[int] | None) -> EngravedPart:
        return engrave_part(
            part,
            markings,
            style,
            standalone=standalone,
            source_systems=source_systems,
            systems=systems,
            limits=limits,
            waiting=waiting if systems is None else None,
        )

    markings = mark(style.wishes)
    engraved = press(markings, None)
    if not (style.diagrams_at_systems or style.diagrams_at_pages != "none"):
        return SettledPart(engraved, markings)
    marked: dict[int, Reason] = {}
    for count in range(MOST_ROUNDS):
        heads = dict(_heads(part, engraved.placement, style))
        if heads == marked:
            break
        # Once pages have begun to go to and fro, what was marked stays marked: a diagram too many
        # at the head of a system does no harm, and so it comes to an end.
        marked = heads if count < 2 else {**marked, **heads}
        markings = mark(replace(style.wishes, also_at=tuple(sorted(marked.items()))))
        engraved = press(markings, _systems(part, engraved.placement))
    shown = {diagram.place.bar for diagram in markings.diagrams if diagram.place.offset == 0}
    lacking = [
        f"bar {part.printed_bar(bar)}: the {reason.value} begins without its diagram"
        for bar, reason in sorted(dict(_heads(part, engraved.placement, style)).items())
        if bar not in shown
    ]
    if lacking:
        proof = replace(engraved.proof, failures=(*engraved.proof.failures, *lacking))
        engraved = replace(engraved, proof=proof)
    return SettledPart(engraved, markings)


def _systems(part: HarpPart, placement: Placement) -> frozenset[int]:
    """Bars at which systems begin, but for the first."""
    starts = {line.start for line in placement.boxes.lines if line.is_system}
    return frozenset(bar.index for bar in part.bars[1:] if bar.start in starts)


def _heads(part: HarpPart, placement: Placement, style: HouseStyle) -> Iterator[tuple[int, Reason]]:
    """Bars at which a system or page begins that wants a diagram, and which of the two."""
    bars = {bar.start: bar.index for bar in part.bars if bar.length}
    page = 0
    for line in placement.boxes.lines:
        if not line.is_system or line.start not in bars:
            continue
        begins_page, page = line.page != page, line.page
        turned = page % 2 == 0 or style.diagrams_at_pages == "all"
        if begins_page and turned and style.diagrams_at_pages != "none":
            yield bars[line.start], Reason.PAGE
        elif style.diagrams_at_systems:
            yield bars[line.start], Reason.SYSTEM
