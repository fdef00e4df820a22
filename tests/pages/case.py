"""A small score of our own, and what of it must stand on the engraved page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from score_snippets import TREBLE_AND_BASS, bars, opening, score

__all__ = ["HIDDEN", "Case", "beam", "slur", "solo"]

HIDDEN = 'print-object="no"'


@dataclass(frozen=True, slots=True)
class Case:
    """One score and its page."""

    truth: str
    """The musical truth in one sentence."""
    data: bytes
    printed: Mapping[str, int] = field(default_factory=dict)
    """LilyPond's name for a thing, with its staff (``NoteHead/1``) or without, and how many."""
    written: tuple[str, ...] = ()
    """What the source must hold."""
    unwritten: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    """Every notice of the reader and of the page."""
    part: str | None = None


def solo(*contents: str, staves: int = 1, beats: int = 4, header: str = "") -> bytes:
    """A score of one harp, its bars numbered from 1."""
    clefs = TREBLE_AND_BASS if staves == 2 else ""
    first = opening(staves=staves, beats=beats, clefs=clefs)
    return score(bars(*contents, first=first), header=header)


def beam(kind: str) -> str:
    """``begin``, ``continue`` or ``end`` of a beam."""
    return f'<beam number="1">{kind}</beam>'


def slur(kind: str, number: int = 1) -> str:
    """``start`` or ``stop`` of a slur."""
    return f'<slur type="{kind}" number="{number}"/>'
