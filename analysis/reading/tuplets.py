"""Tuplets: from the source's brackets, or from the lengths alone.

A source names a tuplet by a start and a stop on its first and last note, or only by the ratio that
every note of it carries. In the second case notes of one ratio are gathered until they fill the
time of a plain note value.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from pedalsetter.analysis.part import NotatedLength, TupletGroup
from pedalsetter.analysis.reading.draft import EventDraft, TupletStart
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["group_tuplets", "number_once"]


_DEEPEST = 6
"""Tuplets in each other; print has hardly more than two, and engravers give up at some depth."""


@dataclass(slots=True)
class _Open:
    start: TupletStart
    depth: int
    id: str
    members: list[EventDraft] = field(default_factory=list)


def group_tuplets(events: Sequence[EventDraft], notices: Notices) -> None:
    """Give the events of one voice in one bar, in order of onset, their tuplet groups."""
    if not any(event.modification or event.tuplet_starts for event in events):
        return
    timed = [event for event in events if event.grace is None]
    loose = _from_brackets(timed, notices)
    _from_ratios([event for event in timed if event in loose])


def number_once(events: Sequence[EventDraft]) -> None:
    """Hide the numbers that only repeat another one, where voices share the notes of a tuplet.

    ``events`` are those of one bar, of all its voices. A piece of a tuplet that begins within one
    of the same ratio in another voice, and that does not fill its own time, belongs to that one.
    """
    groups: dict[str, list[EventDraft]] = {}
    for event in events:
        if len(event.tuplets) == 1 and event.grace is None:
            groups.setdefault(event.tuplets[0].id, []).append(event)
    if len(groups) < 2:
        return
    shown: list[tuple[TupletGroup, Fraction, Fraction, str]] = []
    for members in sorted(groups.values(), key=lambda each: (each[0].offset, each[0].order)):
        group = members[0].tuplets[0]
        start, voice = members[0].offset, members[0].voice
        filled = sum((member.length for member in members), Fraction(0))
        time = max(filled, group.normal * min(_base(member) for member in members))
        ratio = (group.actual, group.normal)
        is_piece = filled < time and any(
            (other.actual, other.normal) == ratio and since <= start < until and of != voice
            for other, since, until, of in shown
        )
        if is_piece:
            silent = replace(group, bracket=False, show_number="none")
            for member in members:
                member.tuplets = (silent,)
        else:
            shown.append((group, start, max(start + time, members[-1].end), voice))


def _from_brackets(events: list[EventDraft], notices: Notices) -> list[EventDraft]:
    """Assign bracketed tuplets; return the events that only a ratio tells of."""
    stack: list[_Open] = []
    closed: list[_Open] = []
    loose: list[EventDraft] = []
    inside: dict[int, list[_Open]] = {}
    left_out: list[int] = []
    for event in events:
        notices.at(event.bar, event.offset, event.staff)
        if stack and event.modification is None and not event.tuplet_starts:
            notices.add("a tuplet without an end is closed at its last note")
            closed.extend(stack)
            stack.clear()
        for start in event.tuplet_starts:
            for unclosed in [each for each in stack if each.start.number == start.number]:
                notices.add("a tuplet without an end is closed at its last note")
                stack.remove(unclosed)
                if unclosed.members:
                    closed.append(unclosed)
            if len(stack) == _DEEPEST:
                notices.add(f"a tuplet inside {_DEEPEST} others was left out")
                left_out.append(start.number)
            else:
                stack.append(_Open(start, len(stack), f"{event.id}-t{start.number}"))
        for each in stack:
            each.members.append(event)
        inside[id(event)] = list(stack)
        if not stack and event.modification is not None and not _is_tremolo_of_two(event):
            loose.append(event)
        for number in event.tuplet_stops:
            ending = next((each for each in reversed(stack) if each.start.number == number), None)
            if ending is None and number in left_out:
                left_out.remove(number)
            elif ending is None:
                notices.add("the end of a tuplet without a beginning was left out")
            else:
                stack.remove(ending)
                closed.append(ending)
    closed.extend(stack)
    ratios: dict[str, TupletGroup] = {}
    for each in sorted(closed, key=lambda group: group.depth):
        group = _group_of(each, inside, ratios, notices)
        if group is not None:
            ratios[each.id] = group
    for event in events:
        event.tuplets = tuple(ratios[each.id] for each in inside[id(event)] if each.id in ratios)
    return loose


def _group_of(
    tuplet: _Open,
    inside: dict[int, list[_Open]],
    outer: dict[str, TupletGroup],
    notices: Notices,
) -> TupletGroup | None:
    """The tuplet's ratio: as the source states it, else what outer tuplets leave unexplained."""
    start = tuplet.start
    actual, normal = start.actual, start.normal
    first = tuplet.members[0]
    if actual is None or normal is None:
        actual = normal = None
        # The event that lies in the fewest tuplets says most plainly what this one's ratio is.
        for event in sorted(tuplet.members, key=lambda member: len(inside[id(member)])):
            if event.modification is None:
                continue
            left = Fraction(1)
            for other in inside[id(event)]:
                if other is not tuplet and other.id in outer:
                    left *= Fraction(outer[other.id].actual, outer[other.id].normal)
            actual, normal = event.modification.actual, event.modification.normal
            if event.tremolo is not None and event.tremolo.kind in ("start", "stop"):
                normal *= 2
            if left != 1:
                ratio = Fraction(actual, normal) / left
                actual, normal = ratio.numerator, ratio.denominator
            break
    notices.at(first.bar, first.offset, first.staff)
    if actual is None or normal is None:
        notices.add("a tuplet whose ratio is not given was left out")
        return None
    return TupletGroup(
        id=tuplet.id,
        actual=actual,
        normal=normal,
        bracket=start.bracket,
        show_number=start.show_number,
        placement=start.placement,
    )


def _from_ratios(events: list[EventDraft]) -> None:
    run: list[EventDraft] = []
    for event in events:
        before = run[-1] if run else None
        if before is not None and (_ratio(before) != _ratio(event) or before.end != event.offset):
            _assign(run)
            run = []
        run.append(event)
        if _is_complete(run):
            _assign(run)
            run = []
    _assign(run)


def _ratio(event: EventDraft) -> tuple[int, int]:
    modification = event.modification
    return (modification.actual, modification.normal) if modification else (1, 1)


def _is_complete(run: list[EventDraft]) -> bool:
    """Whether the run's notes are ``actual`` of one note value, and of one that occurs in it.

    Without the second condition three semiquavers of a sextuplet would count as six
    demisemiquavers.
    """
    actual, _ = _ratio(run[0])
    modification = run[0].modification
    if modification is None:
        return True
    total = sum((event.length * modification.ratio for event in run), Fraction(0))
    unit = total / actual
    if modification.unit is not None and total == modification.unit * actual:
        return True
    shortest = min(_base(event) for event in run)
    return _is_power_of_two(unit) and unit >= shortest


def _base(event: EventDraft) -> Fraction:
    if event.notated is not None:
        return NotatedLength(event.notated.log).quarters
    ratio = event.modification.ratio if event.modification else Fraction(1)
    return event.length * ratio


def _is_power_of_two(value: Fraction) -> bool:
    return (
        value > 0
        and value.numerator & (value.numerator - 1) == 0
        and value.denominator & (value.denominator - 1) == 0
    )


def _assign(run: list[EventDraft]) -> None:
    if not run:
        return
    actual, normal = _ratio(run[0])
    group = TupletGroup(id=f"{run[0].id}-t", actual=actual, normal=normal)
    for event in run:
        event.tuplets = (group,)


def _is_tremolo_of_two(event: EventDraft) -> bool:
    """Two notes of a tremolo are each written at the length of both: 2 in the time of 1."""
    return (
        event.tremolo is not None
        and event.tremolo.kind in ("start", "stop")
        and event.modification is not None
        and event.modification.ratio == 2
    )
