"""Where diagrams and change letters belong: from the plan to what is printed."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter, Setting
from pedalsetter.analysis.marks.string_marks import StringMark, string_marks
from pedalsetter.analysis.part import HarpPart, Place, SectionReason, glissando_lines
from pedalsetter.analysis.pedal_plan import Change, PedalPlan
from pedalsetter.analysis.playing.glissandi import RUN_BARS
from pedalsetter.analysis.playing.playing_order import playing_order
from pedalsetter.analysis.playing.sustained import Keys
from pedalsetter.analysis.reading.sections import LONG_REST_BARS

__all__ = [
    "ChangeMark",
    "Diagram",
    "Mark",
    "MarkingWishes",
    "Markings",
    "Origin",
    "Reason",
    "place_marks",
]


class Reason(Enum):
    """Why a mark is printed."""

    START = "start"
    SECTION = "section"
    AFTER_REST = "after rest"
    GLISSANDO = "glissando"
    CHANGE = "change"
    CAUTIONARY = "cautionary"
    AFTER_CHANGES = "after changes"
    PAGE = "page"
    """A page begins."""
    SYSTEM = "system"
    """A system begins."""
    DECIDED = "decided"


class Origin(Enum):
    """Who asked for a mark."""

    SOURCE = "source"
    PLANNED = "planned"
    USER = "user"


@dataclass(frozen=True, slots=True)
class Diagram:
    """A whole setting, to be printed at a place."""

    place: Place
    setting: Setting
    changed: tuple[Letter, ...]
    """Pedals that move at this very place: ringed, and not repeated as letters."""
    reason: Reason
    origin: Origin = Origin.PLANNED
    editorial: bool = False
    """Added to marks of the source, so that it is printed in an editor's brackets."""


@dataclass(frozen=True, slots=True)
class ChangeMark:
    """The letters of all changes at one place, to be printed as one stack."""

    place: Place
    changes: tuple[Change, ...]
    """Top to bottom: right foot above left."""
    reason: Reason = Reason.CHANGE
    origin: Origin = Origin.PLANNED
    added: tuple[Letter, ...] = ()
    """Pedals that an editor adds to marks of the source: printed in brackets. They may share a
    stack with changes of the source."""

    @property
    def editorial(self) -> bool:
        """Whether anything in the stack is an editor's addition."""
        return bool(self.added)


Mark = Diagram | ChangeMark | StringMark
"""Whatever is printed for the harpist."""


@dataclass(frozen=True, slots=True)
class Markings:
    """Everything about pedals and strings that is printed."""

    diagrams: tuple[Diagram, ...]
    """By place."""
    changes: tuple[ChangeMark, ...]
    """By place; none where a diagram at the same place already shows the change."""
    strings: tuple[StringMark, ...] = ()
    """By place: the strings of notes that are played on another one than the written one."""


_SOON_BARS = 4
"""A glissando fewer bars after a diagram of the same setting needs none of its own."""


@dataclass(frozen=True, slots=True)
class MarkingWishes:
    """Where diagrams are wanted; the defaults are common practice, no source."""

    at_start: bool = True
    """At the start of each movement. If not, the player sets the key signature, and letters at
    the start tell the pedals that stand otherwise."""
    at_sections: bool = True
    at_glissandos: bool = True
    at_jumps: bool = True
    """Where a repeat or a jump enters a bar with another setting than the bar printed before it
    leaves. If not, letters there tell what is otherwise."""
    after_rest_bars: int = 4
    """After so many bars without a note, 0 for never."""
    after_changes: int = 16
    """At the first barline after so many changes since the last diagram whose bar has no letter, or
    after three times as many at any; 0 for never."""
    also_at: tuple[tuple[int, Reason], ...] = ()
    """Bars, by index, at whose left barline one stands in any case, and why."""
    string_names: bool = True
    """Where a note is played on another string than the written one, that is said."""


DEFAULT_WISHES = MarkingWishes()


def place_marks(
    part: HarpPart, plan: PedalPlan, wishes: MarkingWishes = DEFAULT_WISHES
) -> Markings:
    """Return what is printed: a diagram where a player may begin, a letter at every change.

    Diagrams stand where ``wishes`` want them: at the start of each movement, at sections, after
    bars of rest, at the first of a run of glissandi, and where a repeat or a jump enters a bar with
    another setting than the bar printed before it leaves. Pedals that move at a diagram's own place
    are ringed in it and get no letter. A diagram that would show nothing new is left out, but never
    the first of a movement. Linear but for the sorting of places.
    """
    at: dict[Place, list[Change]] = {}
    for change in plan.changes:
        at.setdefault(change.place, []).append(change)
    diagrams: list[Diagram] = []
    changed_places = [change.place for change in plan.changes]
    wanted = _wanted(part, plan, wishes)
    decided = _decide(part, plan, wanted)
    for place, reason in sorted(wanted.items(), key=lambda one: one[0]):
        setting = plan.setting_at(place)
        changed = tuple(change.letter for change in at.get(place, ()))
        always = place in decided or reason in _ALWAYS
        if not always and (diagrams or reason is Reason.AFTER_CHANGES):
            since = bisect_right(changed_places, diagrams[-1].place) if diagrams else 0
            moved = bisect_right(changed_places, place) - since
            if reason is Reason.AFTER_CHANGES:
                ahead = bisect_left(changed_places, Place(place.bar + 1, Fraction(0)))
                is_quiet = ahead == bisect_right(changed_places, place)
                if moved < wishes.after_changes * (1 if is_quiet else 3):
                    # A letter in the same bar would contradict it at once.
                    continue
            if diagrams and not moved and diagrams[-1].setting == setting:
                last = diagrams[-1]
                soon = place.bar - last.place.bar < _SOON_BARS
                if reason is not Reason.GLISSANDO or soon or last.reason is Reason.GLISSANDO:
                    continue
        origin = Origin.USER if place in decided else Origin.PLANNED
        diagrams.append(Diagram(place, setting, changed, reason, origin))
    shown = {diagram.place for diagram in diagrams}
    diagrams, told = _told_after_barlines(part, diagrams, plan.changes)
    marks = [
        ChangeMark(place, tuple(sorted(changes, key=_right_foot_above_left)))
        for place, changes in at.items()
        if place not in shown and place not in told
    ]
    letters = [*_told_by_letters(part, plan, shown, at), *marks]
    return Markings(
        tuple(diagrams),
        tuple(sorted(letters, key=lambda mark: mark.place)),
        string_marks(part, plan) if wishes.string_names else (),
    )


_ALWAYS = (Reason.START, Reason.CAUTIONARY, Reason.PAGE, Reason.SYSTEM)
"""What is printed however little it says that is new."""


def _told_after_barlines(
    part: HarpPart, diagrams: Sequence[Diagram], changes: Sequence[Change]
) -> tuple[list[Diagram], set[Place]]:
    """The diagrams with what they tell of the bars before, and the places of what they tell.

    Where a repeat or a jump leads to a section, pedals that move after the last note need no letter
    before the barline if every bar that can follow begins with the diagram of one.
    """
    found = list(diagrams)
    told: set[Place] = set()
    moved = [change for change in changes if change.at_barline]
    if not moved:
        return found, told
    at_barline = {one.place.bar: at for at, one in enumerate(diagrams) if not one.place.offset}
    after: dict[int, set[int]] = {}
    for before, bar in playing_order(part).transitions():
        after.setdefault(before, set()).add(bar)
    for change in moved:
        following = after.get(change.place.bar, set())
        if following and following <= at_barline.keys():
            told.add(change.place)
            for number in (at_barline[bar] for bar in following):
                ringed = {*found[number].changed, change.letter}
                changed = tuple(letter for letter in LETTERS if letter in ringed)
                found[number] = replace(found[number], changed=changed)
    return found, told


def _told_by_letters(
    part: HarpPart, plan: PedalPlan, shown: set[Place], changes: Mapping[Place, Sequence[Change]]
) -> Iterator[ChangeMark]:
    """Letters where a movement begins, or a jump comes in, without a diagram.

    A pedal that moves at that very place is told by its own letter.
    """
    graces = _graces_at_barlines(part)
    keys = Keys(part)
    entrances: list[tuple[int, Setting, Setting, Reason]] = []
    for movement in plan.movements:
        signature = keys.setting(part.bars[movement.first_bar].start)
        entrances.append((movement.first_bar, signature, movement.opening, Reason.START))
    for bar, setting in plan.entries:
        before = plan.setting_at(Place(bar - 1, part.bars[bar - 1].length))
        entrances.append((bar, before, setting, Reason.CAUTIONARY))
    for bar, before, setting, reason in entrances:
        place = Place(bar, Fraction(0), -graces.get(bar, 0))
        if place in shown:
            continue
        moving = {change.letter for change in changes.get(place, ())}
        stand = tuple(
            Change(
                letter=letter,
                old=before[letter],
                new=setting[letter],
                foot=letter.foot,
                place=place,
                needed=None,
                needed_by=(),
                free_since=None,
                seconds_free=None,
                seconds_since_same_foot=None,
                why="It stands so here.",
            )
            for letter in LETTERS
            if before[letter] is not setting[letter] and letter not in moving
        )
        if stand:
            yield ChangeMark(place, tuple(sorted(stand, key=_right_foot_above_left)), reason)


def _decide(part: HarpPart, plan: PedalPlan, wanted: dict[Place, Reason]) -> frozenset[Place]:
    """Add the diagrams that the musician wants to those ``wanted``, and take the others away."""
    decided: set[Place] = set()
    graces = _graces_at_barlines(part)
    for decision in plan.decisions:
        place = decision.place
        if place is None or decision.diagram is None:
            continue
        if not place.offset and not place.grace:
            place = Place(place.bar, place.offset, -graces.get(place.bar, 0))
        if decision.diagram:
            wanted.setdefault(place, Reason.DECIDED)
            decided.add(place)
        else:
            wanted.pop(place, None)
    return frozenset(decided)


def _right_foot_above_left(change: Change) -> tuple[bool, int]:
    return change.foot is Foot.LEFT, change.letter.index


_RANK = {
    reason: rank
    for rank, reason in enumerate(
        (
            Reason.START,
            Reason.CAUTIONARY,
            Reason.PAGE,
            Reason.SYSTEM,
            Reason.SECTION,
            Reason.AFTER_REST,
            Reason.GLISSANDO,
            Reason.AFTER_CHANGES,
        )
    )
}


def _wanted(part: HarpPart, plan: PedalPlan, wishes: MarkingWishes) -> dict[Place, Reason]:
    """Every place at which a diagram is wanted, with the strongest reason."""
    graces = _graces_at_barlines(part)
    wanted: dict[Place, Reason] = {}

    def want(place: Place, reason: Reason) -> None:
        known = wanted.get(place)
        if known is None or _RANK[reason] < _RANK[known]:
            wanted[place] = reason

    def at_barline(bar: int, reason: Reason) -> None:
        # Before the grace notes; changes among them and after them keep their letters.
        want(Place(bar, Fraction(0), -graces.get(bar, 0)), reason)

    starts = {movement.first_bar for movement in plan.movements}
    if wishes.at_start:
        for bar in starts:
            at_barline(bar, Reason.START)
    if wishes.at_jumps:
        for bar, _ in plan.entries:
            at_barline(bar, Reason.CAUTIONARY)
    for bar, reason in wishes.also_at:
        at_barline(bar, reason)
    after_rests = 0 < wishes.after_rest_bars <= LONG_REST_BARS
    for section in part.sections:
        if section.bar in starts:
            continue  # where a movement begins, its start decides
        if section.reasons == (SectionReason.LONG_REST,):
            if after_rests:
                at_barline(section.bar, Reason.AFTER_REST)
        elif wishes.at_sections:
            at_barline(section.bar, Reason.SECTION)
    if wishes.after_rest_bars:
        for bar in _after_long_rests(part, wishes.after_rest_bars):
            at_barline(bar, Reason.AFTER_REST)
    if wishes.after_changes:
        for bar in _sounding_bars(part):
            at_barline(bar, Reason.AFTER_CHANGES)
    if wishes.at_glissandos:
        for place in _starts_of_glissandos(part):
            if place.offset or place.grace:
                want(Place(place.bar, place.offset), Reason.GLISSANDO)
            else:
                at_barline(place.bar, Reason.GLISSANDO)
    return wanted


def _graces_at_barlines(part: HarpPart) -> dict[int, int]:
    """For each bar, how many grace notes stand before its first beat, at most in one voice."""
    counts: dict[tuple[int, int, str], int] = {}
    for event in part.events:
        if event.grace is not None and event.heads and event.onset == part.bars[event.bar].start:
            key = (event.bar, event.staff, event.voice)
            counts[key] = counts.get(key, 0) + 1
    most: dict[int, int] = {}
    for (bar, _, _), count in counts.items():
        most[bar] = max(count, most.get(bar, 0))
    return most


def _starts_of_glissandos(part: HarpPart) -> Iterator[Place]:
    """Where runs of lines begin; at a grace note with any number other than 0.

    A diagram holds for the whole run: in it letters tell what moves.
    """
    keys = Keys(part)
    stops = {first.id: stop.bar for (_, first), (stop, _) in glissando_lines(part.events)}
    before: tuple[int, int, Setting] | None = None
    for event, head in part.notes():
        if event.cue or not event.visible:
            continue
        if any(end.start and end.kind in ("glissando", "slide") for end in head.spanners):
            offset = event.onset - part.bars[event.bar].start
            movement = part.bars[event.bar].movement
            key = keys.setting(event.onset, event.staff)
            end = stops.get(head.id, event.bar)
            in_run = before is not None and before[1:] == (movement, key)
            if before is not None and in_run and event.bar - before[0] < RUN_BARS:
                before = (max(end, before[0]), movement, key)
                continue
            before = (end, movement, key)
            yield Place(event.bar, offset, 0 if event.grace is None else -1)


def _sounding_bars(part: HarpPart) -> frozenset[int]:
    """Bars in which the harp plays."""
    return frozenset(
        event.bar for event in part.events if event.heads and not event.cue and event.visible
    )


def _after_long_rests(part: HarpPart, bars: int) -> Iterator[int]:
    """Bars in which the harp comes in after so many bars or more without a note."""
    sounding = _sounding_bars(part)
    silent = 0
    for bar in part.bars:
        if bar.index in sounding:
            if silent >= bars:
                yield bar.index
            silent = 0
        else:
            silent += 1
