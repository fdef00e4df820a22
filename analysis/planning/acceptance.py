"""Which of the musician's decisions hold together with the notes, and why the others do not.

All are tried at once. If that loses no note and leaves every pedal a moment, all hold. Otherwise
those at the places in trouble are set apart, and tried by halves when the others are kept; so a few
that cannot hold are found among many in few attempts, and of two that exclude each other the
earlier one holds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.naming.wording import listed
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import DecisionResult, Finding, PedalPlan, Severity
from pedalsetter.analysis.planning.attempt import Attempt
from pedalsetter.analysis.planning.pins import Claim, Pins
from pedalsetter.analysis.planning.sentences import decision_refused, idle_decision, stands_already

__all__ = ["accept", "by_place", "unhonoured", "with_decisions"]


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
    trial = _Trial(part, base, floor, attempt)
    trial.keep(claims)
    return tuple(trial.kept), tuple(trial.refused)


class _Trial:
    def __init__(
        self, part: HarpPart, base: Pins, floor: Attempt, attempt: Callable[[Pins], Attempt]
    ) -> None:
        self._part, self._base, self._floor, self._attempt = part, base, floor, attempt
        self._harm = _harm(floor)
        self.kept: list[Claim] = []
        self.refused: list[DecisionResult] = []

    def keep(self, claims: Sequence[Claim]) -> None:
        if not claims:
            return
        tried = self._attempt(self._base.with_claims([*self.kept, *claims]))
        if all(now <= before for now, before in zip(_harm(tried), self._harm, strict=True)):
            self.kept += claims
        elif len(claims) == 1:
            self.refused.append(claims[0].refused(self._reason(claims[0], tried)))
        else:
            suspects = self._suspects(claims, tried)
            if 0 < len(suspects) < len(claims):
                self.keep([claim for claim in claims if claim not in suspects])
                self.keep(suspects)
            else:
                half = len(claims) // 2
                self.keep(claims[:half])
                self.keep(claims[half:])

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
        if len(tried.demands.unmet) > len(self._floor.demands.unmet):
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
    return len(attempt.unmet) + len(attempt.demands.unmet), len(_lost(attempt))


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


def with_decisions(
    part: HarpPart,
    plan: PedalPlan,
    claims: Sequence[Claim],
    refused: Sequence[DecisionResult],
    read: Mapping[str, Claim],
) -> PedalPlan:
    """The plan with what became of each decision; ``read`` are all claims, by their words."""
    refused = [_as_it_stands(one, plan, read) for one in refused]
    findings = [decision_refused(one.told, one.place, one.refused) for one in refused]
    results = [claim.result for claim in claims] + refused
    findings += _idle(part, claims, plan)
    results.sort(key=lambda one: (one.place or _NOWHERE, one.told))
    return replace(
        plan,
        findings=tuple(sorted((*plan.findings, *findings), key=by_place)),
        decisions=tuple(results),
    )


def _idle(part: HarpPart, claims: Sequence[Claim], plan: PedalPlan) -> Iterator[Finding]:
    """Decided changes that no note needs, each with the decisions that could go.

    That is so where a note that was to be played on another string is no longer.
    """
    told = {
        (place, letter): claim.told
        for claim in claims
        for place, letter, stand in claim.stands
        if stand.moved
    }
    for change in plan.changes:
        own = told.get((change.place, change.letter))
        if own is None or change.needed is not None:
            continue
        after = next(
            (
                one
                for one in plan.changes
                if one.letter is change.letter and one.place > change.place
            ),
            None,
        )
        back = after is not None and after.new is change.old
        undone = told.get((after.place, after.letter)) if after is not None and back else None
        yield idle_decision(
            change.place,
            change.text,
            part.told_place(change.place),
            [one for one in (own, undone) if one is not None],
            "" if after is None else f"{after.text} in {part.told_place(after.place)}",
        )


def _as_it_stands(
    one: DecisionResult, plan: PedalPlan, read: Mapping[str, Claim]
) -> DecisionResult:
    """A refusal of a change in the words of the plan that is shown, if it tells the reason.

    A pedal that stands there already, or moves away right there, is not moved to there.
    """
    claim = read.get(one.told)
    for place, letter, stand in () if claim is None else claim.stands:
        if not stand.moved:
            continue
        here = [each for each in plan.changes if (each.place, each.letter) == (place, letter)]
        comes = here[0].old if here else plan.setting_at(place)[letter]
        if comes is stand.position:
            away = here[0].new if here else None
            return replace(one, refused=stands_already(letter, stand.position, away))
    return one


_NOWHERE = Place(0, Fraction(0))
"""Where findings are shown that have no place in the score."""


def by_place(finding: Finding) -> tuple[Place, int, str]:
    """By what findings are sorted: place, then severity, the worst first."""
    return finding.place, list(Severity).index(finding.severity), finding.what
