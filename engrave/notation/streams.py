"""From the source's voices to LilyPond's: streams in which no event overlaps another.

A stream becomes one Voice context that runs from the first bar to the last, so that ties and
slurs may pass barlines. It lives on its home staff and visits the others.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from fractions import Fraction

from pedalsetter.analysis.part import Event, HarpPart

__all__ = ["Stream", "index_bars", "make_streams", "staff_name"]

_ORDINALS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(slots=True)
class Stream:
    """Events that follow one another."""

    voice: str
    staff: int | None
    """The staff that it is bound to, where one voice of the source had to be split by staves."""
    events: list[Event] = field(default_factory=list)
    busy_until: Fraction = Fraction(0)
    home: int = 1
    name: str = ""
    by_bar: dict[int, list[Event]] = field(default_factory=dict)

    def takes(self, event: Event) -> bool:
        """Whether the event may follow: nothing sounds any more at its onset."""
        return self.busy_until <= event.onset

    def append(self, event: Event) -> None:
        """Add the event at the end."""
        self.events.append(event)
        self.busy_until = max(self.busy_until, event.end)


def staff_name(staff: int, staves: int) -> str:
    """Name of the Staff context: ``upper`` and ``lower`` for the usual two."""
    if staves == 2:
        return ("upper", "lower")[staff - 1]
    return f"staff {staff}" if staves > 2 else "upper"


def make_streams(part: HarpPart) -> tuple[Stream, ...]:
    """All streams, by home staff, the higher one first."""
    by_voice: dict[str, list[Event]] = defaultdict(list)
    for event in part.events:
        by_voice[event.voice].append(event)
    streams: list[Stream] = []
    for voice, events in by_voice.items():
        if _is_one_per_staff(events):
            for staff in sorted({event.staff for event in events}):
                own = [event for event in events if event.staff == staff]
                streams += _split_where_overlapping(voice, own)
        else:
            streams += _split_where_overlapping(voice, events)
    for stream in streams:
        counts = Counter(event.staff for event in stream.events if event.heads)
        counts = counts or Counter(event.staff for event in stream.events)
        stream.home = min(counts, key=lambda staff: (-counts[staff], staff))
        index_bars(stream)
    streams.sort(key=lambda stream: (stream.home, -_mean_pitch(stream.events), stream.voice))
    used: Counter[int] = Counter()
    for stream in streams:
        ordinal = used[stream.home]
        word = _ORDINALS[ordinal] if ordinal < len(_ORDINALS) else str(ordinal + 1)
        stream.name = f"{staff_name(stream.home, part.staves)} {word}"
        used[stream.home] += 1
    return tuple(streams)


def index_bars(stream: Stream) -> None:
    """Sort the stream's events into its bars anew."""
    stream.by_bar = {}
    for event in stream.events:
        stream.by_bar.setdefault(event.bar, []).append(event)


def _is_one_per_staff(events: list[Event]) -> bool:
    """Whether the source uses one name for two voices on two staves.

    It does if the two overlap in time in most bars where both are found; a true voice that
    crosses the staves overlaps with itself only now and then, in chords over both staves.
    """
    by_bar: dict[int, list[Event]] = defaultdict(list)
    for event in events:
        if event.grace is None:
            by_bar[event.bar].append(event)
    shared = overlapping = 0
    for found in by_bar.values():
        if len({event.staff for event in found}) < 2:
            continue
        shared += 1
        found = sorted(found, key=lambda event: event.onset)
        overlapping += any(
            one.staff != other.staff and other.onset < one.end
            for index, one in enumerate(found)
            for other in found[index + 1 :]
        )
    return shared > 0 and overlapping * 2 >= shared


def _split_where_overlapping(voice: str, events: list[Event]) -> list[Stream]:
    """One stream, and for what overlaps it further ones bound to a staff each."""
    main = Stream(voice, None)
    others: list[Stream] = []
    ordered = sorted(
        enumerate(events), key=lambda item: (item[1].onset, item[1].grace is None, item[0])
    )
    mains_at = {(event.onset, event.staff) for event in events if event.grace is None}
    for _, event in ordered:
        if event.grace is not None and (event.onset, event.staff) not in mains_at:
            # after-notes stay with the note that they follow
            followed = [
                stream
                for stream in (main, *others)
                if stream.events and stream.events[-1].staff == event.staff and stream.takes(event)
            ]
            (followed or [main])[0].append(event)
            continue
        choice = next(
            (
                stream
                for stream in (main, *others)
                if stream.takes(event) and stream.staff in (None, event.staff)
            ),
            None,
        )
        if choice is None:
            choice = Stream(voice, event.staff)
            others.append(choice)
        choice.append(event)
    return [main, *others]


def _mean_pitch(events: list[Event]) -> Fraction:
    pitches = [head.pitch.midi for event in events for head in event.heads]
    return Fraction(sum(pitches), len(pitches)) if pitches else Fraction(0)
