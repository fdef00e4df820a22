"""Remedies: what to engrave otherwise, judged by the page that was measured.

The engraver's own spacing makes room for every mark. What it does not see, beams and stems that
run from staff to staff, is mended by engraving again with adjustments.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from types import MappingProxyType

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.collisions import Nearness
from pedalsetter.engrave.layout.geometry import Line
from pedalsetter.engrave.layout.placement import PlacedMark, Placement
from pedalsetter.engrave.layout.proof import LayoutProof

__all__ = ["adjust", "first_adjustments"]

CLEARANCE = 1.0
"""Staff spaces between a lifted mark and what it was lifted over."""

LOOSE = 15.0
"""Mean gap in staff spaces between systems above which pages look torn apart."""

FEW_COLUMNS = 320
"""Moments with notes that fill hardly more than eight systems, which make one page or two."""


def first_adjustments(part: HarpPart, style: HouseStyle) -> Adjustments:
    """With what the first engraving begins.

    Filling the last page is good where there are many pages to share the room; a short part looks
    better ragged, and guessing so at once saves a second engraving.
    """
    if style.last_page != "auto":
        return Adjustments(ragged_last_page=style.last_page == "ragged")
    columns = len({event.onset for event in part.events if event.heads})
    return Adjustments(ragged_last_page=columns <= FEW_COLUMNS)


def adjust(
    style: HouseStyle, placement: Placement, proof: LayoutProof, before: Adjustments
) -> Adjustments | None:
    """What the next engraving should have otherwise, or None if nothing would help.

    Where filled pages are torn apart, the last one is left ragged. A row that stands in something
    that the engraver does not see when it finds the row's height is held further from the staff.
    """
    after = before
    if style.last_page == "auto" and not before.ragged_last_page and _is_loose(placement):
        after = replace(after, ragged_last_page=True)
    if style.place == "between":
        after = replace(after, shift=MappingProxyType(_shift(placement, proof, before)))
    else:
        after = replace(after, room=MappingProxyType(_room(style, placement, proof, before)))
    return None if after == before else after


def _is_loose(placement: Placement) -> bool:
    """Whether the systems of a part of one page or two are too far apart on the whole.

    On more pages the room is shared better, and a ragged end would leave a line by itself.
    """
    if placement.pages > 2:
        return False
    systems = [line for line in placement.boxes.lines if line.is_system]
    gaps = [
        below.box.top - above.box.bottom
        for above, below in pairwise(systems)
        if above.page == below.page
    ]
    return bool(gaps) and sum(gaps) / len(gaps) > LOOSE


def _room(
    style: HouseStyle, placement: Placement, proof: LayoutProof, before: Adjustments
) -> dict[str, float]:
    """Room by mark, grown where a mark overlaps what belongs to the staves; negative is upwards."""
    placed = {mark.name: mark for mark in placement.marks}
    systems = _systems(placement)
    side = -1 if style.place == "below" else 1
    room = {name: abs(depth) for name, depth in before.room.items()}
    for nearness in proof.overlaps:
        if nearness.other in placed or nearness.other == "title":
            continue
        mark = placed[nearness.mark]
        needed = _depth(style, mark, systems[mark.page, mark.system], nearness)
        room[mark.name] = round(max(needed, room.get(mark.name, 0.0) + CLEARANCE), 2)
    return {name: side * depth for name, depth in room.items()}


def _shift(placement: Placement, proof: LayoutProof, before: Adjustments) -> dict[str, float]:
    """Between the staves: how far left a mark steps aside for a stem that runs through the row.

    A mark may end where its note begins, so that it stands before it, but no further left; it may
    never stand after its note.
    """
    placed = {mark.name: mark for mark in placement.marks}
    shift = dict(before.shift)
    for nearness in proof.overlaps:
        if nearness.other in placed or nearness.other == "title":
            continue
        mark = placed[nearness.mark]
        aside = mark.box.right - nearness.box.left + CLEARANCE / 2
        wanted = round(before.shift.get(mark.name, 0.0) + aside, 2)
        if 0 < wanted <= mark.box.right - mark.box.left + CLEARANCE:
            shift[mark.name] = max(shift.get(mark.name, 0.0), wanted)
    return shift


def _depth(style: HouseStyle, mark: PlacedMark, system: Line, nearness: Nearness) -> float:
    """From the baseline of the moved row to the staff, less the air that is kept there anyway."""
    move = CLEARANCE - nearness.distance
    if style.place == "below":
        away = mark.baseline + move - system.staff_bottom
    else:
        away = system.staff_top - (mark.baseline - move)
    return away - style.staff_distance_spaces


def _systems(placement: Placement) -> dict[tuple[int, int], Line]:
    """(page, system on the page from 1) to the system."""
    systems: dict[tuple[int, int], Line] = {}
    count: dict[int, int] = {}
    for line in placement.boxes.lines:
        if line.is_system:
            count[line.page] = count.get(line.page, 0) + 1
            systems[line.page, count[line.page]] = line
    return systems
