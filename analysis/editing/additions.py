"""What a source's marks lack, as marks of its own kind, each where a foot is free to make it.

A letter is added before a note that does not come out, a diagram where a movement begins without
one, and a whole setting beside a diagram that leaves pedals unsaid.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.collation.replay import replay_marks
from pedalsetter.analysis.collation.score_walk import Walk, lay_walk
from pedalsetter.analysis.collation.slips import Fault
from pedalsetter.analysis.instrument.harp import LETTERS, Harp, Letter, Position
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.pedal_plan import PedalPlan

__all__ = ["in_order", "is_added", "missing_marks"]


_ADDED = "added-"
"""Begins the ids of marks that are not in the source."""

_MOST_ROUNDS = 6


def is_added(mark: SourceMark) -> bool:
    """Whether a mark is one of the edition's additions and not in the source."""
    return mark.id.startswith(_ADDED)


def in_order(marks: Iterable[SourceMark]) -> tuple[SourceMark, ...]:
    """By place; at one place diagrams first, additions last."""
    return tuple(
        sorted(
            marks,
            key=lambda mark: (
                mark.onset,
                mark.bar,
                is_added(mark),
                mark.kind != "diagram",
            ),
        )
    )


def missing_marks(part: HarpPart, plan: PedalPlan, harp: Harp) -> list[SourceMark]:
    """Marks that make every note come out, given those of the source.

    A letter before the very note that needs it helps on every pass, so that each round leaves
    fewer faults; those that stay are the source's own contradictions.
    """
    added = _missing_openings(part, plan, harp)
    added += _whole_diagrams(part, plan, {(mark.bar, mark.onset) for mark in added})
    hopeless: set[tuple[Place, Letter]] = set()
    for _ in range(_MOST_ROUNDS):
        edited = replace(part, source_marks=in_order((*part.source_marks, *added)))
        walk = lay_walk(edited, plan, harp)
        faults = replay_marks(walk).faults
        new = 0
        wanted: dict[tuple[Place, Letter, Position], Fault] = {}
        for fault in faults:
            wanted.setdefault((fault.item.place, fault.letter, fault.position), fault)
        for (place, letter, position), fault in wanted.items():
            if (place, letter) in hopeless:
                continue
            chosen = _place_for(fault, edited, plan, walk, added)
            if chosen is None:
                hopeless.add((place, letter))
                continue
            added.append(_letter(edited, chosen, letter, position, len(added)))
            new += 1
        if not new:
            break
    return _without_idle(part, plan, harp, added)


def _without_idle(
    part: HarpPart, plan: PedalPlan, harp: Harp, added: Sequence[SourceMark]
) -> list[SourceMark]:
    """The additions without letters that move no pedal on any pass.

    A round takes the pedal to stand right after each fault; who obeys the marks leaves it where
    they have put it, and where the fault stayed that may be where a later addition wants it.
    """
    edited = replace(part, source_marks=in_order((*part.source_marks, *added)))
    standing: dict[Letter, Position | None] = {}
    acting = set()
    for item in lay_walk(edited, plan, harp).items:
        for letter in item.unsaid:
            standing[letter] = None
        for move in item.moves:
            if standing.get(move.letter) is not move.position:
                acting.add(move.mark.id)
            standing[move.letter] = move.position
    return [mark for mark in added if mark.kind == "diagram" or mark.id in acting]


def _missing_openings(part: HarpPart, plan: PedalPlan, harp: Harp) -> list[SourceMark]:
    """A diagram for each movement that begins without one, agreeing with the marks that follow."""
    walk = lay_walk(part, plan, harp)
    found = []
    for item, missing in replay_marks(walk).openings:
        movement = next(each for each in plan.movements if each.movement == item.movement)
        setting = movement.opening
        begin = next(each.index for each in walk.items if each.movement == item.movement)
        for letter in LETTERS:
            need = walk.next_need(letter, begin)
            move = walk.next_move(letter, begin - 1)
            if move is not None and (need is None or move[0] <= need[0]):
                # The source moves it before any note needs it: it may open as it will stand.
                setting = setting.moved(letter, move[1].position)
            elif need is not None:
                setting = setting.moved(letter, need[1])
        bar = part.bars[movement.first_bar]
        pedals = tuple((letter.value, int(position)) for letter, position in setting)
        name = f"{_ADDED}opening-{movement.movement}"
        if missing:
            found.append(SourceMark(name, bar.index, bar.start, None, "diagram", pedals))
    return found


def _whole_diagrams(
    part: HarpPart, plan: PedalPlan, given: set[tuple[int, Fraction]]
) -> list[SourceMark]:
    """A whole setting for each diagram of the source that leaves some pedals unsaid.

    What it names stays; the rest stands as planned.
    """
    found = []
    for mark in part.source_marks:
        named = {
            Letter(name): Position(alter) for name, alter in mark.pedals if alter in (-1, 0, 1)
        }
        if mark.kind != "diagram" or mark.setting() is not None or len(named) < _MOST_OF_A_DIAGRAM:
            continue
        if (mark.bar, mark.onset) in given:
            continue
        setting = plan.setting_at(part.place_of(mark))
        pedals = tuple(
            (letter.value, int(named.get(letter, position))) for letter, position in setting
        )
        name = f"{_ADDED}whole-{mark.id}"
        found.append(SourceMark(name, mark.bar, mark.onset, mark.staff, "diagram", pedals))
    return found


_MOST_OF_A_DIAGRAM = 4
"""What names fewer pedals is taken for changes rather than for a setting."""


def _letter(
    part: HarpPart, place: Place, letter: Letter, position: Position, number: int
) -> SourceMark:
    onset = part.bars[place.bar].start + place.offset
    text = f"{letter.value}{position.sign}"
    pedals = ((letter.value, int(position)),)
    return SourceMark(f"{_ADDED}{number}", place.bar, onset, None, "letters", pedals, text)


def _place_for(
    fault: Fault, part: HarpPart, plan: PedalPlan, walk: Walk, added: Sequence[SourceMark]
) -> Place | None:
    """Where a missing change is printed: where the plan has it, else as late as a foot is free.

    None if every moment since the last note that needs the old position is taken by a mark of the
    same letter or the same foot.
    """
    foot = fault.letter.foot
    taken = {
        (mark.bar, mark.onset)
        for mark in (*part.source_marks, *added)
        if mark.kind != "diagram"
        for name, _ in mark.pedals
        if Letter(name).foot is foot
    }
    moments: list[Place] = []
    for index in range(fault.item.index, fault.since, -1):
        item = walk.items[index]
        if item.run != fault.item.run:
            break
        own = [move for move in item.moves if move.letter is fault.letter]
        if own and index != fault.item.index:
            # Before a mark of the same letter an addition would be undone by it.
            break
        onset = part.onset_of(item.place)
        if (
            own
            or fault.letter in item.sliding
            or item.place.grace
            or (item.place.bar, onset) in taken
        ):
            continue
        moments.append(item.place)
    if not moments:
        return None
    planned = {
        change.place
        for change in plan.changes
        if change.letter is fault.letter and change.new is fault.position
    }
    return next((place for place in moments if place in planned), moments[0])
