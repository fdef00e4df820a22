"""The form of a part: signs of navigation, and sections where a player may begin again."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

__all__ = ["Jump", "JumpKind", "Section", "SectionReason"]


class JumpKind(Enum):
    """A sign that changes the playing order."""

    SEGNO = "segno"
    CODA = "coda"
    TO_CODA = "to coda"
    FINE = "fine"
    DA_CAPO = "da capo"
    DAL_SEGNO = "dal segno"


@dataclass(frozen=True, slots=True)
class Jump:
    """A sign of navigation: targets stand at the start of their bar, the others at its end."""

    kind: JumpKind
    bar: int
    label: str = ""
    """Pairs several segnos or codas; may be empty."""
    al_coda: bool = False
    al_fine: bool = False


class SectionReason(Enum):
    """Why a section begins."""

    START = "start"
    MOVEMENT = "movement"
    REHEARSAL = "rehearsal mark"
    DOUBLE_BAR = "double bar"
    KEY = "key change"
    HEADING = "heading"
    LONG_REST = "long rest"
    SEGNO = "segno"
    CODA = "coda"


@dataclass(frozen=True, slots=True)
class Section:
    """A place where a player may begin again, so that the whole setting is wanted there."""

    bar: int
    """Index of the first bar."""
    reasons: tuple[SectionReason, ...]
    label: str = ""
    """Rehearsal mark or heading, if it has one."""
