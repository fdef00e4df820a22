"""What the musician's decisions mean in one score: each becomes a *claim* that the planner meets.

A claim says where letters must stand, where a pedal must move, which strings notes may not have.
Claims that cannot hold whatever the plan (no such bar, no such note, one against another) are
refused here with the reason; whether the others can hold together with the notes is found out by
planning.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from pedalsetter.analysis.decisions.values import (
    Decisions,
    Respell,
)
from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.instrument.respelling import Pitch, strings_of_pitch_class
from pedalsetter.analysis.part import Place
from pedalsetter.analysis.pedal_plan import DecisionResult
from pedalsetter.analysis.planning.weights import CROSSED, TWO_PEDALS, Weights

__all__ = [
    "NOTHING_BARRED",
    "NO_PINS",
    "Choice",
    "Claim",
    "Pins",
    "Stand",
    "beside",
    "policy",
    "weights_under",
]

Choice = tuple[Letter, Position]
"""A letter with the position in which it sounds a note."""

NOTHING_BARRED: frozenset[Choice] = frozenset()


@dataclass(frozen=True, slots=True)
class Stand:
    """Where one pedal is to stand at one place."""

    position: Position
    moved: bool
    """It moves right there."""


@dataclass(frozen=True, slots=True)
class Claim:
    """What one decision asks of the planner."""

    told: str
    place: Place
    stands: tuple[tuple[Place, Letter, Stand], ...] = ()
    barred: tuple[tuple[str, frozenset[Choice]], ...] = ()
    """Heads, each with the strings that it may not have."""
    opening: tuple[int, tuple[Choice, ...]] | None = None
    """The index of a movement, and where pedals stand when it begins."""
    crossed: Letter | None = None
    """A letter that the foot of the other side works."""
    needed: Place | None = None
    """The change must be one that this place needs."""
    diagram: bool | None = None

    @property
    def result(self) -> DecisionResult:
        """That it is honoured."""
        return DecisionResult(self.told, self.place, diagram=self.diagram)

    def refused(self, why: str) -> DecisionResult:
        """That it is not, and why."""
        return DecisionResult(self.told, self.place, why)


@dataclass(frozen=True, slots=True)
class Pins:
    """All claims that hold together, by what they ask for."""

    stands: Mapping[Place, Mapping[Letter, Stand]] = field(default_factory=dict)
    barred: Mapping[str, frozenset[Choice]] = field(default_factory=dict)
    openings: Mapping[int, Mapping[Letter, Position]] = field(default_factory=dict)
    """By index of the movement."""
    crossed: frozenset[Letter] = frozenset()
    never: bool = False
    """No note is played on another letter than written unless its own decision says so."""
    freely: bool = False
    """Respellings that save a change are welcome."""

    def barred_for(self, head: str, pitch: Pitch) -> frozenset[Choice]:
        """The strings that a note may not have, or what :func:`beside` it is added to it."""
        known = self.barred.get(head)
        if known is not None or not self.never or abs(pitch.alter) == 2:
            return known or NOTHING_BARRED
        own = (pitch.letter, Position(pitch.alter))
        return frozenset(one for one in strings_of_pitch_class(pitch.midi) if one != own)

    def with_claims(self, claims: Iterable[Claim]) -> Pins:
        """These pins and what the claims ask for."""
        stands = {place: dict(known) for place, known in self.stands.items()}
        barred = dict(self.barred)
        openings = {movement: dict(known) for movement, known in self.openings.items()}
        crossed = set(self.crossed)
        for claim in claims:
            for place, letter, stand in claim.stands:
                here = stands.setdefault(place, {})
                moved = stand.moved or (letter in here and here[letter].moved)
                here[letter] = replace(stand, moved=moved)
            for head, choices in claim.barred:
                barred[head] = barred.get(head, NOTHING_BARRED) | choices
            if claim.opening is not None:
                openings.setdefault(claim.opening[0], {}).update(claim.opening[1])
            if claim.crossed is not None:
                crossed.add(claim.crossed)
        return replace(
            self, stands=stands, barred=barred, openings=openings, crossed=frozenset(crossed)
        )


def beside(head: str) -> str:
    """The id of what an ornament adds to a head, which is written nowhere."""
    return f"{head} beside"


NO_PINS = Pins()
"""Nothing decided."""


def weights_under(decisions: Decisions, weights: Weights) -> Weights:
    """The weights with the times, the price of respelling and the feet's freedom as decided.

    Raises:
        DecisionsError: the times contradict each other.
    """
    times = {
        "comfortable_seconds": decisions.comfortable_seconds,
        "least_seconds": decisions.least_seconds,
        "two_notches": decisions.two_notches,
        "crossing_seconds": decisions.crossing_seconds,
        "ring_seconds": decisions.ring_seconds,
    }
    given: dict[str, Any] = {name: value for name, value in times.items() if value is not None}
    if decisions.respell is Respell.FREELY:
        given["respelled"] = min(weights.respelled, weights.respelled_freely)
    for name, allowed, usual in (
        ("crossed", decisions.crossing, CROSSED),
        ("two_pedals", decisions.two_pedals, TWO_PEDALS),
    ):
        if allowed is not None:
            own = getattr(weights, name)
            given[name] = (usual if own is None else own) if allowed else None
    try:
        return replace(weights, **given)
    except DecisionsError as error:
        raise error.in_file(decisions.file) if decisions.file else error from None


def policy(decisions: Decisions) -> Pins:
    """The pins that hold for the whole part."""
    return Pins(
        never=decisions.respell is Respell.NEVER, freely=decisions.respell is Respell.FREELY
    )
