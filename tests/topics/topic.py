"""What a topic is, and short ways to look at a part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from score_snippets import score

from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part import Direction, DirectionKind, HarpPart

__all__ = ["Topic", "directions", "lengths", "names", "of_part", "onsets", "signs", "whole"]

Look = Callable[[HarpPart], object]


@dataclass(frozen=True, slots=True, eq=False)
class Topic:
    """A small score for one topic, and what a reader must see in it."""

    number: str
    """The topic's number in the published table of contents, with a letter of our own."""
    name: str
    truth: str
    """The musical truth in one sentence."""
    data: bytes
    look: Look
    seen: object
    """What ``look`` finds."""
    told: tuple[str, ...] = ()
    """Every notice."""
    part: str | None = None
    """Which part is asked for, where there are several."""

    @property
    def id(self) -> str:
        """As in ``01a pitches``."""
        return f"{self.number} {self.name}"


def of_part(
    number: str,
    name: str,
    truth: str,
    measures: str,
    look: Look,
    seen: object,
    *told: str,
    header: str = "",
) -> Topic:
    """A topic shown by a score of one harp."""
    return Topic(number, name, truth, score(measures, header=header), look, seen, told)


def whole(
    number: str,
    name: str,
    truth: str,
    data: bytes,
    look: Look,
    seen: object,
    *told: str,
    part: str | None = None,
) -> Topic:
    """A topic shown by a whole file."""
    return Topic(number, name, truth, data, look, seen, told, part)


def names(part: HarpPart) -> str:
    """Pitches in order, chords joined: ``C4 E4+G4 r``."""
    return " ".join(
        "+".join(_name(head.pitch) for head in event.heads) or "r" for event in part.events
    )


def lengths(part: HarpPart) -> str:
    """Lengths of all events in quarters, graces as 0."""
    return " ".join(str(event.length) for event in part.events)


def onsets(part: HarpPart) -> str:
    """Onsets of all events in quarters from the beginning."""
    return " ".join(str(event.onset) for event in part.events)


def directions(*kinds: DirectionKind) -> Look:
    """Looks for the texts of directions of these kinds, with their onsets."""

    def look(part: HarpPart) -> list[tuple[str, str]]:
        return [(str(each.onset), each.text or each.shape) for each in part.directions if _is(each)]

    def _is(each: Direction) -> bool:
        return each.kind in kinds

    return look


def signs(field: str) -> Look:
    """Looks at one field of every event, empty ones left out."""
    return lambda part: [getattr(event, field) for event in part.events if getattr(event, field)]


def _name(pitch: Pitch) -> str:
    sign = "#" * pitch.alter if pitch.alter > 0 else "b" * -pitch.alter
    return f"{pitch.letter.value}{sign}{pitch.octave}"
