"""Remedies: what to engrave otherwise, judged by the page that was measured.

The engraver's own spacing makes room for every mark. What it does not see, beams and stems that
run from staff to staff, and what it cannot mend, a line with too many bars, is mended by engraving
again. A mark that stands badly gets one remedy an engraving, in this order:

1. shift: its row is held further from the staff, or between the staves it stands further left;
2. second row: letters get a row of their own above the others; a diagram is shifted again;
   a mark between the staves goes outside them, with the others of its row in its system;
3. flat: a slur that goes round notes of both staves, and through the row, is held flat;
4. break: a new system begins in the middle of its own, so that there is more room;
5. smaller: a diagram is drawn smaller; letters are shifted again.

A remedy that cannot apply is passed over. Letters that push notes too far apart go up to the second
row at once (:mod:`pedalsetter.engrave.layout.rhythm`). Where something of another system comes too
near to a mark, its row is held away on that side.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import replace
from fractions import Fraction
from operator import itemgetter
from types import MappingProxyType

from pedalsetter.analysis.marks.marking import ChangeMark, Diagram
from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.collisions import Nearness
from pedalsetter.engrave.layout.geometry import Line
from pedalsetter.engrave.layout.music_remedies import adjust_music
from pedalsetter.engrave.layout.page_turns import turn_bars, turns_suffice
from pedalsetter.engrave.layout.placement import PlacedMark, Placement
from pedalsetter.engrave.layout.proof import LayoutProof
from pedalsetter.engrave.layout.rhythm import less_stretched
from pedalsetter.engrave.layout.rows import Row, row_place

__all__ = ["adjust", "first_adjustments"]

CLEARANCE = 1.0
"""Staff spaces between a lifted mark and what it was lifted over."""

SHALLOW = 0.5
"""Staff spaces of overlap beyond which a name of a string does not stay at its note."""

HIGH_SLUR = 8.0
"""Staff spaces from which on a slur is one that goes round notes of both staves."""

FEW_COLUMNS = 320
"""Moments with notes that fill hardly more than eight systems, which make one page or two."""

MANY_COLUMNS = 600
"""Moments with notes that fill three pages or more; two pages lie open side by side."""

SEVERAL_SYSTEMS = 120
"""Moments with notes that fill at least three systems."""


def first_adjustments(part: HarpPart, style: HouseStyle) -> Adjustments:
    """With what the first engraving begins.

    Filling the last page is good where there are many pages to share the room; a short part looks
    better ragged, and guessing so at once saves a second engraving.
    """
    columns = len({event.onset for event in part.events if event.heads})
    few = columns <= FEW_COLUMNS if style.last_page == "auto" else style.last_page == "ragged"
    return Adjustments(
        ragged_last_page=few,
        least_systems=2 if columns >= SEVERAL_SYSTEMS else 1,
        # With a diagram at every head the engraver overrates each system, whatever their number.
        dense_pages=columns <= FEW_COLUMNS or style.diagrams_at_systems,
        free_turns=(
            style.page_turns == "free-hand"
            and columns > MANY_COLUMNS
            and turns_suffice(part, turn_bars(part))
        ),
    )


def adjust(
    part: HarpPart,
    style: HouseStyle,
    placement: Placement,
    proof: LayoutProof,
    before: Adjustments,
    *,
    crowded: bool = False,
) -> Adjustments | None:
    """What the next engraving should have otherwise, or None if nothing would help.

    ``crowded`` tells that the engraver had to press a page together: pages then get less.

    A diagram that would stand behind the last note of a system moves to the beginning of the next
    one. The music has remedies of its own.
    """
    after = before
    if crowded and before.pages is None:
        after = replace(after, dense_pages=False)
    moved = _moved(part, placement, before)
    if moved:
        after = replace(after, moved=MappingProxyType({**before.moved, **moved}))
    for name, nearness in _worst(placement, proof).items():
        after = _with_remedy(part, style, placement, nearness, name, after)
    after = _apart(placement, proof, after)
    for mark in _furthest_past_the_end(placement, proof):
        after = _shortened(part, placement, mark, after)
    after = less_stretched(part, style, placement.boxes, after)
    after = adjust_music(placement.boxes, after)
    return None if after == before else after


def _moved(part: HarpPart, placement: Placement, before: Adjustments) -> dict[str, Place]:
    """Diagrams after which no note comes in their system, and the place of the next one.

    A letter on the way, or another diagram there, keeps the diagram where it is.
    """
    systems = _systems(placement)
    found: dict[str, Place] = {}
    bars = {bar.start: bar for bar in reversed(part.bars)}
    notes = sorted({event.onset for event in part.events if event.heads})
    with_graces = {event.bar for event in part.events if event.grace}
    others = sorted((other.moment.time, other.name) for other in placement.marks)
    for mark in placement.marks:
        system = systems[mark.page, mark.system]
        if not isinstance(mark.mark, Diagram) or mark.name in before.moved:
            continue
        start = mark.moment.time
        bar = bars.get(system.end)
        if bar is None or start <= system.start or mark.moment.grace:
            continue
        if bisect_left(notes, start) < bisect_left(notes, bar.start):
            continue
        first = bisect_left(others, start, key=itemgetter(0))
        last = bisect_right(others, bar.start, key=itemgetter(0))
        if any(name != mark.name for _, name in others[first:last]):
            continue
        if bar.index in with_graces:
            continue
        found[mark.name] = Place(bar.index, Fraction(0))
    return found


def _worst(placement: Placement, proof: LayoutProof) -> dict[str, Nearness]:
    """Of every mark that overlaps something that can give way, its deepest overlap.

    Where a letter or a diagram meets the name of a string, the name gives way.
    """
    names = {mark.name: mark for mark in placement.marks if isinstance(mark.mark, StringMark)}
    boxes = {mark.name: mark.box for mark in placement.marks}
    found: dict[str, Nearness] = {}
    for nearness in proof.overlaps:
        if nearness.other in names and nearness.mark not in names:
            box = boxes[nearness.mark]
            nearness = replace(nearness, mark=nearness.other, other=nearness.mark, box=box)
        known = found.get(nearness.mark)
        if nearness.other_system:
            continue
        if nearness.other != "title" and (known is None or nearness.distance < known.distance):
            found[nearness.mark] = nearness
    return found


def _with_remedy(
    part: HarpPart,
    style: HouseStyle,
    placement: Placement,
    nearness: Nearness,
    name: str,
    before: Adjustments,
) -> Adjustments:
    """The adjustments with the next remedy for one mark that overlaps something."""
    placed = {mark.name: mark for mark in placement.marks}
    mark = placed[name]
    system = _systems(placement)[mark.page, mark.system]
    of_rows = nearness.other in placed
    if isinstance(mark.mark, StringMark):
        return _name_moved(part, style, mark, system, nearness, before)
    between = _place(style, mark, before) == "between"
    for number in range(before.tried.get(name, 0), 5):
        after: Adjustments | None = None
        is_letters = isinstance(mark.mark, ChangeMark)
        if (
            number == 0
            or (number == 1 and not is_letters and not between)
            or (number == 4 and is_letters)
        ):
            after = None if of_rows else _shifted(style, mark, system, nearness, before)
        elif number == 1 and between:
            after = replace(before, outer=before.outer | _row_of(placement, mark))
        elif number == 1:
            after = replace(before, second_row=before.second_row | {name})
        elif number == 2:
            after = _flat(nearness, before)
            if after is None and name in before.outer and not of_rows:
                after = _shifted(style, mark, system, nearness, before)
        elif number == 3:
            after = _broken(part, system, before)
        else:
            after = replace(before, smaller=before.smaller | {name})
        if after is not None:
            return _counted(after, name, number)
    return before


def _name_moved(
    part: HarpPart,
    style: HouseStyle,
    mark: PlacedMark,
    system: Line,
    nearness: Nearness,
    before: Adjustments,
) -> Adjustments:
    """The name of a string stands further from its note; then in a row, which is shifted.

    The engraver does not see beams, stems and slurs of both staves when it finds a name its place,
    nor what they carry; beyond a shallow contact a name's own distance does not help there. Nothing
    but those stands in the way of a row. A name between the staves would meet the other staff.
    """
    name, room = mark.name, dict(before.room)
    has_row = isinstance(mark.mark, StringMark) and before.row_of_names(mark.mark, part) is not None
    if name in before.named_in_row:
        for number in range(before.tried.get(name, 0), 4):
            after = None
            if number == 1:
                after = _flat(nearness, before)
            elif number == 3:
                after = _broken(part, system, before)
            if after is None:
                after = _shifted(style, mark, system, nearness, before)
            if after is not None:
                return _counted(after, name, number)
        return before
    if has_row and (name in room or nearness.distance < -SHALLOW):
        room.pop(name, None)
        in_row = before.named_in_row | {name}
        return replace(before, room=MappingProxyType(room), named_in_row=in_row)
    if name in room:
        after = None if before.tried.get(name) else _broken(part, system, before)
        return before if after is None else _counted(after, name, 0)
    room[name] = round(CLEARANCE / 2 - nearness.distance, 2)
    return replace(before, room=MappingProxyType(room))


def _row_of(placement: Placement, mark: PlacedMark) -> frozenset[str]:
    """Names of the marks of one kind in the system of one of them: a player reads them in a row."""
    kind = type(mark.mark)
    return frozenset(
        other.name
        for other in placement.marks
        if isinstance(other.mark, kind) and (other.page, other.system) == (mark.page, mark.system)
    )


def _flat(nearness: Nearness, before: Adjustments) -> Adjustments | None:
    """The slur held flat; None if it is none, is not high, or is flat already."""
    if nearness.moment is None or nearness.moment in before.music.flat_slurs:
        return None
    if nearness.box.bottom - nearness.box.top < HIGH_SLUR:
        return None
    flat = before.music.flat_slurs | {nearness.moment}
    return replace(before, music=replace(before.music, flat_slurs=flat))


def _apart(placement: Placement, proof: LayoutProof, before: Adjustments) -> Adjustments:
    """The adjustments with rows held away from what comes too near out of another system.

    A slur of both staves is unseen when systems find their distance. Its own system ends for the
    engraver with the staff, so that the room is counted from there; where that did not help, the
    slur is held flat.
    """
    placed = {mark.name: mark for mark in placement.marks}
    lines = {(line.page, line.line): line for line in placement.boxes.lines}
    wanted: dict[str, float] = {}
    flat = set(before.music.flat_slurs)
    for nearness in (*proof.crowded, *(one for one in proof.overlaps if one.other_system)):
        mark, other = placed[nearness.mark], lines[nearness.page, nearness.line]
        if isinstance(mark.mark, StringMark):
            continue
        move = CLEARANCE - nearness.distance
        if nearness.mark in before.beyond and nearness.moment is not None:
            flat.add(nearness.moment)
        if other.staff_bottom < mark.baseline:
            depth = -(mark.baseline - other.staff_bottom + move)
        else:
            depth = other.staff_top - mark.baseline + move
        wanted[nearness.mark] = max(wanted.get(nearness.mark, 0.0), depth, key=abs)
    if not wanted:
        return before
    beyond = {**before.beyond, **{name: round(depth, 2) for name, depth in wanted.items()}}
    music = replace(before.music, flat_slurs=frozenset(flat))
    return replace(before, beyond=MappingProxyType(beyond), music=music)


def _shifted(
    style: HouseStyle, mark: PlacedMark, system: Line, nearness: Nearness, before: Adjustments
) -> Adjustments | None:
    """Further from the staff, or between the staves further left, clear of a stem.

    There a mark may end where its note begins, so that it stands before it, but no further left;
    it may never stand after its note.
    """
    where = _place(style, mark, before)
    if where == "between":
        aside = mark.box.right - nearness.box.left + CLEARANCE / 2
        wanted = round(before.shift.get(mark.name, 0.0) + aside, 2)
        if not 0 < wanted <= mark.box.right - mark.box.left + CLEARANCE:
            return None
        return replace(before, shift=MappingProxyType({**before.shift, mark.name: wanted}))
    side = -1 if where == "below" else 1
    known = abs(before.room.get(mark.name, 0.0))
    needed = _depth(style, mark, system, nearness, where)
    deep = side * round(max(needed, known + CLEARANCE), 2)
    return replace(before, room=MappingProxyType({**before.room, mark.name: deep}))


def _furthest_past_the_end(placement: Placement, proof: LayoutProof) -> list[PlacedMark]:
    """Of every system the mark that stands furthest beyond its end."""
    found: dict[tuple[int, int], PlacedMark] = {}
    for mark in placement.marks:
        if mark.name in proof.past_line_end:
            known = found.get((mark.page, mark.system))
            if known is None or mark.box.right > known.box.right:
                found[mark.page, mark.system] = mark
    return list(found.values())


def _shortened(
    part: HarpPart, placement: Placement, mark: PlacedMark, before: Adjustments
) -> Adjustments:
    """The adjustments with the next remedy for a mark beyond the end of its line."""
    system = _systems(placement)[mark.page, mark.system]
    over = mark.box.right - system.right
    for number in range(before.tried.get(mark.name, 0), 4):
        after: Adjustments | None = None
        if number == 0 and 0 < over <= (mark.box.right - mark.box.left) / 2:
            wanted = round(before.shift.get(mark.name, 0.0) + over + CLEARANCE / 4, 2)
            after = replace(before, shift=MappingProxyType({**before.shift, mark.name: wanted}))
        elif number in (1, 2):
            after = _broken(part, system, before)
        elif number == 3 and isinstance(mark.mark, Diagram):
            after = replace(before, smaller=before.smaller | {mark.name})
        if after is not None:
            return _counted(after, mark.name, number)
    return before


def _counted(after: Adjustments, name: str, number: int) -> Adjustments:
    return replace(after, tried=MappingProxyType({**after.tried, name: number + 1}))


def _broken(part: HarpPart, system: Line, before: Adjustments) -> Adjustments | None:
    """A new system at the barline nearest to the middle of this one; None in a single bar."""
    inner = [bar for bar in part.bars if system.start < bar.start < system.end]
    if not inner:
        return None
    middle = (system.start + system.end) / 2
    bar = min(inner, key=lambda bar: (abs(bar.start - middle), bar.index))
    return replace(before, breaks=before.breaks | {bar.index})


def _depth(
    style: HouseStyle, mark: PlacedMark, system: Line, nearness: Nearness, where: str
) -> float:
    """From the baseline of the moved row to the staff, less the air that is kept there anyway."""
    move = CLEARANCE - nearness.distance
    if where == "below":
        away = mark.baseline + move - system.staff_bottom
    else:
        away = system.staff_top - (mark.baseline - move)
    return away - style.staff_distance_spaces


def _place(style: HouseStyle, mark: PlacedMark, adjustments: Adjustments) -> str:
    """Where the row of a mark stands."""
    if isinstance(mark.mark, StringMark):
        return "above" if mark.mark.staff == 1 else "below"
    inner, outer = (
        (Row.DIAGRAMS, Row.OUTER_DIAGRAMS)
        if isinstance(mark.mark, Diagram)
        else (Row.LETTERS, Row.OUTER_LETTERS)
    )
    return row_place(outer if mark.name in adjustments.outer else inner, style)


def _systems(placement: Placement) -> dict[tuple[int, int], Line]:
    """(page, system on the page from 1) to the system."""
    systems: dict[tuple[int, int], Line] = {}
    count: dict[int, int] = {}
    for line in placement.boxes.lines:
        if line.is_system:
            count[line.page] = count.get(line.page, 0) + 1
            systems[line.page, count[line.page]] = line
    return systems
