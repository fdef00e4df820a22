"""Where diagrams and change letters belong: from the plan to what is printed."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from pedalsetter.analysis.harp import Foot, Letter, Setting
from pedalsetter.analysis.part import HarpPart, Place, SectionReason
from pedalsetter.analysis.pedal_plan import Change, PedalPlan

__all__ = ["ChangeMark", "Diagram", "Markings", "Origin", "Reason", "place_marks"]


class Reason(Enum):
    """Why a mark is printed."""

    START = "start"
    SECTION = "section"
    AFTER_REST = "after rest"
    GLISSANDO = "glissando"
    CHANGE = "change"
    CAUTIONARY = "cautionary"
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


@dataclass(frozen=True, slots=True)
class Markings:
    """Everything about pedals that is printed."""

    diagrams: tuple[Diagram, ...]
    """By place."""
    changes: tuple[ChangeMark, ...]
    """By place; none where a diagram at the same place already shows the change."""


_LONG_REST_BARS = 4
_SOON_BARS = 4
"""A diagram that would only repeat one printed fewer bars before is left out."""


def place_marks(part: HarpPart, plan: PedalPlan) -> Markings:
    """Return what is printed: a diagram where a player may begin, a letter at every change.

    Diagrams stand at the start of each movement, at sections, after four bars or more of rest, at
    a glissando's line, and where a repeat or a jump enters a bar with another setting than the bar
    printed before it leaves. Pedals that move at a diagram's own place are ringed in it and get no
    letter. A diagram that would show nothing new so soon after another is left out; the first of a
    movement never is. Linear but for the sorting of places.
    """
    at: dict[Place, list[Change]] = {}
    for change in plan.changes:
        at.setdefault(change.place, []).append(change)
    diagrams: list[Diagram] = []
    changed_places = [change.place for change in plan.changes]
    wanted = _wanted(part, plan)
    decided = _decide(part, plan, wanted)
    for place, reason in sorted(wanted.items(), key=lambda one: one[0]):
        setting = plan.setting_at(place)
        changed = tuple(change.letter for change in at.get(place, ()))
        always = place in decided or reason in (Reason.START, Reason.CAUTIONARY)
        if not always and diagrams:
            last = diagrams[-1]
            first_since = bisect_right(changed_places, last.place)
            moved = first_since < len(changed_places) and changed_places[first_since] <= place
            if not moved and last.setting == setting and place.bar - last.place.bar < _SOON_BARS:
                continue
        origin = Origin.USER if place in decided else Origin.PLANNED
        diagrams.append(Diagram(place, setting, changed, reason, origin))
    shown = {diagram.place for diagram in diagrams}
    marks = tuple(
        ChangeMark(place, tuple(sorted(changes, key=_right_foot_above_left)))
        for place, changes in sorted(at.items())
        if place not in shown
    )
    return Markings(tuple(diagrams), marks)


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
        (Reason.START, Reason.CAUTIONARY, Reason.SECTION, Reason.AFTER_REST, Reason.GLISSANDO)
    )
}


def _wanted(part: HarpPart, plan: PedalPlan) -> dict[Place, Reason]:
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

    for movement in plan.movements:
        at_barline(movement.first_bar, Reason.START)
    for bar, _ in plan.entries:
        at_barline(bar, Reason.CAUTIONARY)
    for section in part.sections:
        only_rest = section.reasons == (SectionReason.LONG_REST,)
        at_barline(section.bar, Reason.AFTER_REST if only_rest else Reason.SECTION)
    for bar in _after_long_rests(part):
        at_barline(bar, Reason.AFTER_REST)
    for event, head in part.notes():
        if event.cue or not event.visible:
            continue
        if any(end.start and end.kind in ("glissando", "slide") for end in head.spanners):
            offset = event.onset - part.bars[event.bar].start
            if offset or event.grace is not None:
                want(Place(event.bar, offset), Reason.GLISSANDO)
            else:
                at_barline(event.bar, Reason.GLISSANDO)
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


def _after_long_rests(part: HarpPart) -> list[int]:
    """Bars in which the harp comes in after four bars or more without a note."""
    sounding = {
        event.bar for event in part.events if event.heads and not event.cue and event.visible
    }
    found = []
    silent = 0
    for bar in part.bars:
        if bar.index in sounding:
            if silent >= _LONG_REST_BARS:
                found.append(bar.index)
            silent = 0
        else:
            silent += 1
    return found
