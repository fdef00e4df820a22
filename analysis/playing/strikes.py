"""Everything that is struck, moment by moment, with the strings that could sound it.

Besides the written notes these are the neighbour notes of ornaments and the second halves of
tremolos, which sound from the beginning. Ties, cues and invisible notes strike nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Harp, Letter, Position
from pedalsetter.analysis.instrument.respelling import Pitch, Sounding, strings_for
from pedalsetter.analysis.part import Event, HarpPart, Head
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.moments import (
    GRACE_MICROSECONDS,
    Moments,
    Strength,
    is_struck,
    place_of,
)
from pedalsetter.analysis.playing.sustained import (
    Keys,
    neighbours,
    stroke_length,
    tied_ends,
    tremolo_pairs,
    trill_ends,
)

__all__ = ["Strike", "read_strikes"]


@dataclass(frozen=True, slots=True)
class Strike:
    """Something that wants a string at one moment."""

    pitch: Pitch
    head: Head
    staff: int
    soundings: tuple[Sounding, ...]
    until: int
    real: bool
    """False for the note that an ornament adds, and for a note that only sounds on."""
    lasts: int
    """Index of the last moment at which it is struck again, for trills and tremolos."""
    last_stroke: int | None = None
    """When it is struck for the last time, in microseconds on the page; None if it is struck once.

    That is after ``lasts``: a trill goes on to its end, a measured tremolo to one stroke before it.
    """

    @property
    def neighbour(self) -> bool:
        """Whether it is the note that an ornament adds, which is written nowhere."""
        return self.pitch != self.head.pitch

    @property
    def counts(self) -> bool:
        """Whether it costs something if it is played on another letter than it is read on.

        If not, it only repeats a note that has its string already.
        """
        return self.real or self.neighbour

    def on(self, choice: tuple[Letter, Position]) -> Sounding:
        """The string of this strike on a chosen letter."""
        return next(one for one in self.soundings if (one.letter, one.position) == choice)


def read_strikes(
    part: HarpPart, harp: Harp, moments: Moments, clock: Clock, graces: Mapping[str, int]
) -> dict[int, list[Strike]]:
    """Return what is struck at each moment, as written; linear in the number of notes."""
    return _Reader(part, harp, moments, clock, graces).read()


class _Reader:
    def __init__(
        self,
        part: HarpPart,
        harp: Harp,
        moments: Moments,
        clock: Clock,
        graces: Mapping[str, int],
    ) -> None:
        self._part = part
        self._harp = harp
        self._moments = moments
        self._clock = clock
        self._graces = graces
        self._keys = Keys(part)
        self._known: dict[tuple[str, int, int], tuple[Sounding, ...]] = {}
        self._led: dict[tuple[int, str, Fraction], int] = {}
        """By staff, voice and onset of a main note how many grace notes lead to it."""
        for event in part.events:
            if event.grace is not None:
                key = (event.staff, event.voice, event.onset)
                self._led[key] = max(self._led.get(key, 0), -graces[event.id])

    def _moment(self, event: Event) -> int:
        known = self._moments.of_event.get(event.id)
        if known is not None:
            return known
        return self._moments.index(place_of(self._part, event, self._graces))

    def _last_moment_before(self, onset: Fraction, at_least: int) -> int:
        """The last moment strictly before score time ``onset`` at which anything stands."""
        last = at_least
        places, bars = self._moments.places, self._part.bars
        while last + 1 < len(places):
            place = places[last + 1]
            if bars[place.bar].start + place.offset >= onset:
                break
            last += 1
        while last > at_least and self._moments.strengths[last] is Strength.BETWEEN:
            # After the last place that the eye can tell, a pedal moves as the note ends.
            last -= 1
        return last

    def read(self) -> dict[int, list[Strike]]:
        """Everything that is struck, by moment, as written."""
        ends, continued = tied_ends(self._part)
        trilled = trill_ends(self._part)
        strikes: dict[int, list[Strike]] = {}
        partner: dict[str, tuple[Event, Event]] = {}
        for pair in tremolo_pairs(self._part):
            partner[pair[0].id] = partner[pair[1].id] = pair
        for event in self._part.events:
            if not is_struck(event):
                continue
            moment = self._moment(event)
            begin, end = moment, event.end
            again = event.tremolo is not None
            if event.id in partner:
                first, second = partner[event.id]
                begin, end = self._moment(first), second.end
            for head in event.heads:
                if head.id in continued and not again:
                    continue
                tied = ends.get(head.id)
                until = self._until(event, end if tied is None else max(tied, end))
                if head.let_ring:
                    until = max(until, self._clock.microseconds(self._part.bars[event.bar].end))
                if event.grace is not None and ends.get(head.id, end) == end:
                    # A grace note has no length in score time; it sounds to the next moment.
                    until = self._moments.microseconds[moment + 1]
                lasts = self._last_moment_before(end, moment) if again else moment
                real = head.id not in continued
                stroke = self._until(event, end - stroke_length(event)) if again else None
                strings = self._soundings(event, head)
                strike = Strike(head.pitch, head, event.staff, strings, until, real, lasts, stroke)
                # The second half of a tremolo is struck from its beginning, and lasts from there.
                strikes.setdefault(begin if real else moment, []).append(strike)
            for pitch, lasting in neighbours(event, self._keys):
                head = event.heads[-1]
                end = trilled.get(event.id, ends.get(head.id, event.end))
                lasts, stroke = moment, None
                until = self._until(event, end if lasting else event.end)
                if lasting:
                    lasts = self._last_moment_before(end, moment)
                    stroke = until if event.grace is None else None
                strings = self._soundings(event, head)
                own = Strike(head.pitch, head, event.staff, strings, until, False, lasts, stroke)
                other = replace(own, pitch=pitch, soundings=self._playable(strings_for(pitch)))
                strikes.setdefault(moment, []).extend((own, other) if lasting else (other,))
        return strikes

    def _until(self, event: Event, end: Fraction) -> int:
        """When a note ends that is written to last until ``end``.

        That is as the next one of its voice begins, and with it the grace notes that lead to it.
        """
        graces = self._led.get((event.staff, event.voice, end), 0)
        begin = self._clock.microseconds(event.onset)
        return max(begin, self._clock.microseconds(end) - graces * GRACE_MICROSECONDS)

    def _soundings(self, event: Event, head: Head) -> tuple[Sounding, ...]:
        pitch = head.pitch
        if event.harmonic_printed_at_sound:
            pitch = replace(pitch, octave=pitch.octave - 1)
        key = (pitch.letter.value, pitch.alter, pitch.octave)
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._playable(strings_for(pitch))
        return known

    def _playable(self, soundings: Iterable[Sounding]) -> tuple[Sounding, ...]:
        return tuple(sounding for sounding in soundings if self._harp.has(sounding.string))
