"""Which of the musician's decisions hold together with the notes, and why the others do not.

All are tried at once. If that loses no note and leaves every pedal a moment, all hold. Otherwise
those at the places in trouble are set apart, and tried by halves when the others are kept; so a few
that cannot hold are found among many in few attempts, and of two that exclude each other the
earlier one holds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import DecisionResult, PedalPlan
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.pins import Claim, Pins
from pedalsetter.analysis.planning.walk import Unmet
from pedalsetter.analysis.wording import listed

__all__ = ["Attempt", "accept", "unhonoured"]


class Attempt(Protocol):
    """A plan under some decisions, made with little effort."""

    @property
    def demands(self) -> Demands:
        """What was asked of the pedals."""
        ...

    @property
    def unmet(self) -> Sequence[tuple[Place, Unmet]]:
        """Decisions where pedals are to stand that are not met, with their places on the page."""
        ...


def accept(
    part: HarpPart,
    claims: Sequence[Claim],
    base: Pins,
    floor: Attempt,
    attempt: Callable[[Pins], Attempt],
) -> tuple[tuple[Claim, ...], tuple[DecisionResult, ...]]:
    """Return the claims that hold, and what is told of the others.

    ``base`` holds in any case, and ``floor`` is the attempt with nothing else. One attempt more if
    all hold, else a few for each that does not.
    """
    return _Trial(part, base, floor, attempt).run(claims)


class _Trial:
    def __init__(
        self, part: HarpPart, base: Pins, floor: Attempt, attempt: Callable[[Pins], Attempt]
    ) -> None:
        self._part = part
        self._base = base
        self._attempt = attempt
        self._floor = floor
        self._harm = _harm(self._floor)
        self._kept: list[Claim] = []
        self._refused: list[DecisionResult] = []

    def run(self, claims: Sequence[Claim]) -> tuple[tuple[Claim, ...], tuple[DecisionResult, ...]]:
        self._keep(claims)
        return tuple(self._kept), tuple(self._refused)

    def _keep(self, claims: Sequence[Claim]) -> None:
        if not claims:
            return
        tried = self._attempt(self._base.with_claims([*self._kept, *claims]))
        if all(now <= before for now, before in zip(_harm(tried), self._harm, strict=True)):
            self._kept += claims
        elif len(claims) == 1:
            self._refused.append(claims[0].refused(self._reason(claims[0], tried)))
        else:
            suspects = self._suspects(claims, tried)
            if 0 < len(suspects) < len(claims):
                self._keep([claim for claim in claims if claim not in suspects])
                self._keep(suspects)
            else:
                half = len(claims) // 2
                self._keep(claims[:half])
                self._keep(claims[half:])

    def _suspects(self, claims: Sequence[Claim], tried: Attempt) -> list[Claim]:
        """The claims where notes are lost or pedals find no moment."""
        lost = _lost(tried) - _lost(self._floor)
        struck = {
            (event.bar, self._part.place_of(event).offset)
            for event, head in self._part.notes()
            if head.id in lost
        }
        missed = [(place.bar, one.letter.foot) for place, one in tried.unmet]
        return [
            claim
            for claim in claims
            if any(head in lost for head, _ in claim.barred)
            or any(
                (place.bar, place.offset) in struck
                or any(abs(place.bar - bar) < 2 and letter.foot is foot for bar, foot in missed)
                for place, letter, _ in claim.stands
            )
        ]

    def _reason(self, claim: Claim, tried: Attempt) -> str:
        lost = _lost(tried) - _lost(self._floor)
        if lost:
            named = [
                (self._part.told_place(self._part.place_of(event)), str(head.pitch))
                for event, head in self._part.notes()
                if head.id in lost
            ]
            first = named[0][0]
            return f"{listed(name for place, name in named if place == first)} in {first} " + (
                "could not sound"
            )
        if tried.demands.unmet > self._floor.demands.unmet:
            return "a trill, tremolo or glissando holds the pedal elsewhere"
        own = {letter for _, letter, _ in claim.stands}
        for _, one in sorted(tried.unmet, key=lambda known: known[1].letter not in own):
            text = f"{one.letter.value}{one.position.sign}"
            if one.locked:
                return "a trill, tremolo or glissando holds the pedal elsewhere"
            if one.stands:
                return f"nothing moves the pedal away from {text} before, so that it stands there"
            foot = one.letter.foot
            if one.letter in self._base.crossed:
                foot = foot.other
            return f"no moment is left in which the {foot.value} foot could set {text}"
        return "no moment is left for it"


def _harm(attempt: Attempt) -> tuple[int, int]:
    return len(attempt.unmet) + attempt.demands.unmet, len(_lost(attempt))


def _lost(attempt: Attempt) -> set[str]:
    return {note for note, use in attempt.demands.strings.items() if use.sounding is None}


def unhonoured(
    part: HarpPart, claims: Sequence[Claim], plan: PedalPlan
) -> tuple[Claim, str] | None:
    """The first claim that a plan does not meet, with what is wrong; None if it meets all."""
    changes = {(change.place, change.letter): change for change in plan.changes}
    openings = {movement.movement: movement.opening for movement in plan.movements}
    for claim in claims:
        for place, letter, stand in claim.stands:
            text = f"{letter.value}{stand.position.sign}"
            if not stand.moved:
                if plan.setting_at(place)[letter] is not stand.position:
                    return claim, f"the notes leave no room for {text}"
                continue
            change = changes.get((place, letter))
            if change is None or change.new is not stand.position:
                return claim, f"no moment is left for {text} there"
            if claim.needed is not None and change.needed is None:
                return claim, f"no note needs {text} after it; the decision can go"
            if claim.needed is not None and change.needed != claim.needed:
                where = part.told_place(claim.needed)
                return claim, f"{where} is not the first to need {text} after it"
        for head, choices in claim.barred:
            use = plan.strings.get(head)
            sounding = use.sounding if use is not None else None
            if sounding is not None and (sounding.letter, sounding.position) in choices:
                return claim, f"the string of {sounding.name} has no pedal"
        if claim.diagram is False and not claim.place.offset:
            if claim.place.bar in {movement.first_bar for movement in plan.movements}:
                return claim, "a movement begins there, and its first setting must be printed"
            if claim.place.bar in {bar for bar, _ in plan.entries}:
                return claim, "a repeat or jump comes in there with another setting"
        if claim.opening is not None:
            movement, pedals = claim.opening
            if any(openings[movement][letter] is not position for letter, position in pedals):
                return claim, "the notes leave no room for it"
    return None
