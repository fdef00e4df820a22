"""Where diagrams and change letters belong: from the plan to what is printed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from pedalsetter.analysis.harp import Letter, Setting
from pedalsetter.analysis.part import Place
from pedalsetter.analysis.pedal_plan import Change

__all__ = ["ChangeMark", "Diagram", "Markings", "Origin", "Reason"]


class Reason(Enum):
    """Why a mark is printed."""

    START = "start"
    SECTION = "section"
    AFTER_REST = "after rest"
    GLISSANDO = "glissando"
    CHANGE = "change"
    CAUTIONARY = "cautionary"


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


@dataclass(frozen=True, slots=True)
class ChangeMark:
    """The letters of all changes at one place, to be printed as one stack."""

    place: Place
    changes: tuple[Change, ...]
    """Top to bottom: right foot above left."""
    reason: Reason = Reason.CHANGE
    origin: Origin = Origin.PLANNED


@dataclass(frozen=True, slots=True)
class Markings:
    """Everything about pedals that is printed."""

    diagrams: tuple[Diagram, ...]
    """By place."""
    changes: tuple[ChangeMark, ...]
    """By place; none where a diagram at the same place already shows the change."""
