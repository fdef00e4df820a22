"""Cues: what another part plays before the harp comes in, so that the player can count by it.

After a long rest the last bars carry small notes at the pitch that sounds, with the name of their
instrument, from the part that is heard best there, or as the musician has decided. They are added
to the part after it has been planned; nothing is played of them, and no pedal moves for them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from pedalsetter.analysis.decisions.values import CuePin
from pedalsetter.analysis.ensemble.full_score import FullScore, Player
from pedalsetter.analysis.naming.wording import likely, listed, many, short_name
from pedalsetter.analysis.part import Direction, DirectionKind, Event, HarpPart, Place
from pedalsetter.analysis.pedal_plan import DecisionResult

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
_DIGITS = 4


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
    others: tuple[str, ...] = ()
    """Names of the other parts that play there, those heard better first; empty if the musician
    has decided on this one."""

    def told(self, part: HarpPart) -> str:
        """As in ``bars 7 to 8 from Clarinet: 9 notes, mp (also there: Flute and Horn)``."""
        first, last = part.printed_bar(self.first), part.printed_bar(self.last)
        bars = f"bar {first}" if first == last else f"bars {first} to {last}"
        heard = filter(None, (many(self.notes, "note"), self.dynamic))
        also = f" (also there: {listed(self.others)})" if self.others else ""
        return f"{bars} from {self.name}: {', '.join(heard)}{also}"


def with_cues(
    harp: HarpPart, score: FullScore, after_bars: int, decided: Sequence[CuePin] = ()
) -> tuple[HarpPart, tuple[Cue, ...], tuple[DecisionResult, ...]]:
    """The harp's part with a cue before each entry after ``after_bars`` bars of rest or more.

    ``score`` is the same part among the others; 0 bars give no cue but what is ``decided``, and
    comes with what became of it. A rest at whose end nobody plays gets none. Of two decisions about
    one rest the earlier holds. Cost: linear in the events of the score, for each long rest.
    """
    rests = list(_rests(harp))
    pins: dict[int, CuePin] = {}
    results: dict[CuePin, DecisionResult] = {}
    for pin in decided:
        found = _rest_of(harp, rests, pin)
        if isinstance(found, str):
            results[pin] = DecisionResult(str(pin), None, found)
        elif (known := pins.setdefault(found, pin)) is not pin:
            why = f"another decision stands before it: {known}"
            results[pin] = DecisionResult(str(pin), None, why)
    events, directions = list(harp.events), list(harp.directions)
    cues: list[Cue] = []
    for number, (first, last) in enumerate(rests):
        wish = pins.get(number)
        if wish is None and not 0 < after_bars <= last - first + 1:
            continue
        place = Place(last, Fraction(0))
        if wish is not None:
            results[wish] = DecisionResult(str(wish), place)
            if not wish.wanted:
                continue
        heard = sorted(
            (
                line
                for player in score.players
                if not player.harp
                for line in _lines(score.part, player, range(max(first, last - 1), last + 1))
            ),
            # Of two that are heard equally well the upper one in the score is taken.
            key=lambda line: -line.clearness,
        )
        names = tuple(dict.fromkeys(line.player.name for line in heard))
        if wish is not None and wish.part:
            player = _named(score, wish.part)
            heard = [line for line in heard if line.player is player]
        if not heard:
            if wish is not None:
                results[wish] = DecisionResult(str(wish), place, _silent(score, wish, names))
            continue
        best = heard[0]
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
        chosen = wish is not None and bool(wish.part)
        others = () if chosen else tuple(name for name in names if name != best.player.name)
        cues.append(Cue(start.bar, last, best.player.name, len(small), best.dynamic, others))
    told = tuple(results[pin] for pin in decided)
    if not cues:
        return harp, (), told
    events.sort(key=lambda one: (one.onset, one.grace is None, one.staff, one.voice))
    shown = replace(harp, events=tuple(events), directions=tuple(directions))
    return shown, tuple(cues), told


def _rests(harp: HarpPart) -> Iterator[tuple[int, int]]:
    """First and last bar of every rest after which the harp plays.

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
        if first is not None:
            yield first, bar.index - 1
        first = None


def _rest_of(harp: HarpPart, rests: Sequence[tuple[int, int]], pin: CuePin) -> int | str:
    """Which rest is meant, by its place in the list, or why there is none."""
    movements = sorted({bar.movement for bar in harp.bars})
    if pin.movement is not None and pin.movement > len(movements):
        return f"there is no movement {pin.movement}"
    wanted = None if pin.movement is None else movements[pin.movement - 1]
    bars = [
        bar.index for bar in harp.bars if bar.number == pin.bar and wanted in (None, bar.movement)
    ]
    if not bars:
        return f"there is no bar {pin.bar}"
    meant = [
        number
        for number, (first, last) in enumerate(rests)
        if any(first <= bar <= last + 1 for bar in bars)
    ]
    # The bar of an entry may be all that lies between two rests: it belongs to the one before.
    return meant[0] if meant else "the harp does not come in there after a bar of rest"


def _named(score: FullScore, asked: str) -> Player | None:
    """The part of that name, or of that number from the top of the score."""
    for player in score.players:
        if player.name.casefold() == asked.casefold():
            return player
    number = int(asked) if asked.isdecimal() and len(asked) < _DIGITS else 0
    return score.players[number - 1] if 0 < number <= len(score.players) else None


def _silent(score: FullScore, pin: CuePin, names: Sequence[str]) -> str:
    """Why a rest has no such cue."""
    player = _named(score, pin.part) if pin.part else None
    if pin.part and player is None:
        others = [player.name for player in score.players if not player.harp]
        return f"there is no part '{pin.part}' in the score. {likely(pin.part, others)}".strip()
    if player is not None and player.harp:
        return f"{player.name} is the harp itself"
    if player is None:
        return "nobody plays at the end of the rest"
    there = f"; {listed(names)} {'does' if len(names) == 1 else 'do'}" if names else ""
    return f"{player.name} does not play at the end of the rest{there}"


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
