"""Cues: what another part plays before the harp comes in, so that the player can count by it.

After a long rest the last bars carry small notes at the pitch that sounds, with the name of their
instrument, from the part that is heard best there. They are added to the part after it has been
planned; nothing is played of them, and no pedal moves for them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from pedalsetter.analysis.full_score import FullScore, Player
from pedalsetter.analysis.part import Direction, DirectionKind, Event, HarpPart
from pedalsetter.analysis.wording import many, short_name

__all__ = ["MOST_CUED_BARS", "Cue", "with_cues"]

MOST_CUED_BARS = 2
"""How many bars before the harp's entry carry a cue at most (common practice, no source)."""

MELODY = 2.0
"""Weight of a moving line against the two others, which count 1 each: loudness and height."""

_MOVING = 12
"""Notes in the cued bars that make a line as clear as it can be."""

_MIDDLE_C = 60
_LOUDNESS = ("pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff")
_VOICE = "cue"


@dataclass(frozen=True, slots=True)
class Cue:
    """One cue, and why it was taken from this part."""

    first: int
    """Index of its first bar."""
    last: int
    """Index of its last bar; the harp comes in after it."""
    name: str
    """Of the part that plays it."""
    notes: int
    dynamic: str
    """In force there; empty if none is printed."""

    def told(self, part: HarpPart) -> str:
        """As in ``bars 7 to 8 from Clarinet: 9 notes, mp``."""
        first, last = part.printed_bar(self.first), part.printed_bar(self.last)
        bars = f"bar {first}" if first == last else f"bars {first} to {last}"
        heard = filter(None, (many(self.notes, "note"), self.dynamic))
        return f"{bars} from {self.name}: {', '.join(heard)}"


def with_cues(
    harp: HarpPart, score: FullScore, after_bars: int
) -> tuple[HarpPart, tuple[Cue, ...]]:
    """The harp's part with a cue before each entry after ``after_bars`` bars of rest or more.

    ``score`` is the same part among the others. A rest at whose end nobody plays gets none.
    Cost: linear in the events of the score, for each long rest.
    """
    events = list(harp.events)
    directions = list(harp.directions)
    cues: list[Cue] = []
    for first, last in _long_rests(harp, after_bars):
        heard = [
            line
            for player in score.players
            if not player.harp
            for line in _lines(score.part, player, range(max(first, last - 1), last + 1))
        ]
        if not heard:
            continue
        # Of two that are heard equally well the upper one in the score is taken.
        best = max(heard, key=lambda line: line.clearness)
        small = best.small(len(cues))
        events += small
        start = small[0]
        directions.append(
            Direction(
                f"cue {len(cues)}",
                DirectionKind.WORDS,
                start.bar,
                start.onset,
                start.staff,
                "above" if start.staff == 1 else "below",
                short_name(best.player.name),
            )
        )
        cues.append(Cue(start.bar, last, best.player.name, len(small), best.dynamic))
    if not cues:
        return harp, ()
    events.sort(key=lambda one: (one.onset, one.grace is None, one.staff, one.voice))
    return replace(harp, events=tuple(events), directions=tuple(directions)), tuple(cues)


def _long_rests(harp: HarpPart, after_bars: int) -> Iterator[tuple[int, int]]:
    """First and last bar of every long rest after which the harp plays.

    Where the source has a cue of its own none is added, for its bars are no longer bars of rest.
    """
    busy = {event.bar for event in harp.events if event.heads or event.knocks}
    first: int | None = None
    for bar in harp.bars:
        if bar.index and bar.movement != harp.bars[bar.index - 1].movement:
            first = None
        if bar.index not in busy:
            first = bar.index if first is None else first
            continue
        if first is not None and bar.index - first >= after_bars:
            yield first, bar.index - 1
        first = None


@dataclass(frozen=True, slots=True)
class _Line:
    """One voice of another part in the bars of a cue."""

    player: Player
    events: tuple[Event, ...]
    dynamic: str

    @property
    def clearness(self) -> float:
        """How well it is heard: a moving line, loud, high."""
        loud = _LOUDNESS.index(self.dynamic) if self.dynamic in _LOUDNESS else 4
        tops = [event.heads[-1].pitch.midi for event in self.events]
        high = (sum(tops) / len(tops) - 36) / 60
        moving = min(len(self.events), _MOVING) / _MOVING
        return MELODY * moving + loud / (len(_LOUDNESS) - 1) + high

    def small(self, number: int) -> list[Event]:
        """Its notes, small, in a voice of their own on the staff that they fit."""
        tops = [event.heads[-1].pitch.midi for event in self.events]
        upper = 2 * sum(tops) >= 2 * _MIDDLE_C * len(tops)
        return [
            Event(
                f"cue {number}:{event.id}",
                event.bar,
                event.onset,
                event.length,
                1 if upper else 2,
                _VOICE,
                event.notated,
                (
                    replace(
                        event.heads[-1],
                        id=f"cue {number}:{event.heads[-1].id}",
                        tie_start=event.heads[-1].tie_start and place + 1 < len(self.events),
                        tie_stop=event.heads[-1].tie_stop and place > 0,
                        fingerings=(),
                        spanners=(),
                    ),
                ),
                cue=True,
                small=True,
                tuplets=event.tuplets,
                beam=event.beam,
                stem="up" if upper else "down",
            )
            for place, event in enumerate(self.events)
        ]


def _lines(part: HarpPart, player: Player, bars: Sequence[int]) -> Iterator[_Line]:
    """The voices of a player that sound in the last of ``bars``; its first bars may be silent."""
    staves = range(player.first, player.first + player.staves)
    voices: dict[tuple[int, str], list[Event]] = {}
    for event in part.events:
        here = event.bar in bars and event.staff in staves
        if here and event.heads and event.visible and event.grace is None and not event.cue:
            voices.setdefault((event.staff, event.voice), []).append(event)
    for (staff, _), events in sorted(voices.items()):
        if events[-1].bar == bars[-1]:
            dynamic = _dynamic(part, staff, events[0].onset)
            yield _Line(player, tuple(events), dynamic)


def _dynamic(part: HarpPart, staff: int, onset: Fraction) -> str:
    """The last dynamic at or before a moment of a staff."""
    found = [
        (direction.onset, direction.text.strip())
        for direction in part.directions
        if direction.kind is DirectionKind.DYNAMIC
        and direction.staff == staff
        and direction.onset <= onset
    ]
    return max(found)[1] if found else ""
