"""What the search for the best strings is given: the part, and how much effort; and its answer."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.harp import Letter, Position, Setting
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.junctions import Route
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.windows import Line

__all__ = ["BOTH_EFFORT", "FIRST_EFFORT", "LAST_EFFORT", "BestStrings", "Effort", "Whole"]


@dataclass(frozen=True, slots=True)
class Effort:
    """How many labels the programmes of the feet may follow at most."""

    least: int
    for_each_moment: int
    patient: bool = False
    """Nothing is given up before it is all spent."""


FIRST_EFFORT = Effort(2_000, 10, patient=True)
"""Enough for most music."""

LAST_EFFORT = Effort(45_000, 360)
"""Music that needs more has passages that no harpist can play."""

BOTH_EFFORT = Effort(60_000, 0, patient=True)
"""For both feet taken as one, where every label stands for what two feet have done."""


@dataclass(frozen=True, slots=True)
class Whole:
    """A part in stretches, with everything that strings and settings depend on."""

    route: Route
    lines: Sequence[Line]
    prices: Sequence[Prices]
    demands: Demands
    moments: Moments
    feet: Sequence[tuple[Letter, ...]]
    home: Sequence[Setting]
    """For each junction where letters without a need stand."""
    fixed: Mapping[int, Mapping[Letter, Position]]
    """Positions at junctions that the musician has decided."""
    afresh: Collection[int]
    """Junctions where the pedals are set as the first notes want them."""
    respelled: int
    """Points of the notes that are respelled now."""
    known: int
    """Points of the moves and of those notes in a plan that is known."""
    apart: Sequence[tuple[Letter, ...]] = ()
    """The letters of each foot where ``feet`` are both feet taken as one."""


@dataclass(frozen=True, slots=True)
class BestStrings:
    """The best strings found, and what no plan can cost less than."""

    answers: Mapping[int, Answer]
    """For each moment with a choice its answer."""
    least: int | None
    """What the moves and the respelled notes cost in any plan at least; None if unknown."""
    stands: Mapping[int, Mapping[Letter, Position]]
    """For each junction that a way leads to, where the pedals stand there for that."""
