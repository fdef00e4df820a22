"""What is gathered while the demands of a part are read: strings, findings, what goes on."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from pedalsetter.analysis.instrument.harp import Letter, Position, String
from pedalsetter.analysis.instrument.respelling import Pitch, Sounding
from pedalsetter.analysis.naming.wording import NotesByName
from pedalsetter.analysis.part import HarpPart, Head, Place
from pedalsetter.analysis.pedal_plan import Finding, StringUse
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.needs import Chord, Need
from pedalsetter.analysis.planning.pins import Pins, beside
from pedalsetter.analysis.planning.sentences import (
    Why,
    double_alteration,
    respelled_notes,
    tuned_by_hand,
    two_tunings,
)
from pedalsetter.analysis.playing.moments import Moments
from pedalsetter.analysis.playing.strikes import Strike

__all__ = ["Demands", "Elsewhere", "Gathered", "Holding", "pinned_as"]


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A note on another letter than the written one, or what an ornament adds to it.

    Its own letter would not clash there: why it is so can be told from the whole plan.
    """

    moment: int
    place: Place
    staff: int
    head: Head
    pitch: Pitch
    sounding: Sounding
    until: int
    """Microseconds on the page until which it is written to sound."""


@dataclass(frozen=True, slots=True)
class Demands:
    """All needs of a part; what :class:`Gathered` fills is read only afterwards."""

    needs: list[Mapping[Letter, Need]] = field(default_factory=list)
    """For each moment, by letter. A need without notes is a decision of the musician."""
    strings: dict[str, StringUse] = field(default_factory=dict)
    chords: dict[int, tuple[Chord, Answer]] = field(default_factory=dict)
    """Moments at which nothing is trilled or slid: what is struck there, and how it is answered."""
    findings: list[Finding] = field(default_factory=list)
    unmet: list[Place] = field(default_factory=list)
    """Where pedals are decided to stand and the notes leave no room for it."""
    held: dict[int, tuple[Chord, Answer]] = field(default_factory=dict)
    """As ``chords``, for the moments at which something is trilled or slid, or goes on so."""
    lasting: dict[int, int] = field(default_factory=dict)
    """Moments at which something begins that is struck again later, and the last one of that."""
    sliding: set[int] = field(default_factory=set)
    """Moments at which a glissando begins or goes on."""
    neighbours: list[StringUse] = field(default_factory=list)
    """Neighbours of ornamented notes that are played on another letter than they are read on."""
    silent_neighbours: list[str] = field(default_factory=list)
    """Heads of ornamented notes whose neighbours have no string."""
    keeps: dict[tuple[int, Letter], int] = field(default_factory=dict)
    """For each moment and letter that something trilled or slid keeps there its last moment."""
    elsewhere: list[Elsewhere] = field(default_factory=list)


@dataclass(slots=True)
class Holding:
    """Letters that a trill, tremolo or glissando keeps in place up to a moment."""

    first: int
    last: int
    letter: Letter
    position: Position
    notes: tuple[str, ...]
    registers: tuple[int, ...] = ()
    stroke: int | None = None
    """As in :class:`Need`."""


class Gathered:
    """Collects what the moments of a part come to."""

    def __init__(self, part: HarpPart, moments: Moments, pins: Pins) -> None:
        self._part, self._moments, self._pins = part, moments, pins
        self.demands = Demands()
        self._tunings: dict[tuple[int, String], tuple[Position, str]] = {}
        self._doubled: dict[tuple[int, str, str], list[str]] = {}

    def double(self, movement: int, strike: Strike, sounding: Sounding) -> None:
        """A double alteration is played on another string: told once for all of its kind."""
        name = (movement, strike.pitch.name, sounding.name)
        self._doubled.setdefault(name, []).append(strike.head.id)

    def give(self, strike: Strike, sounding: Sounding | None) -> None:
        """The string of a note, None for none."""
        head = strike.head
        self.demands.strings[head.id] = StringUse(head.id, head.pitch, sounding)

    def tune(self, index: int, movement: int, strike: Strike, sounding: Sounding) -> None:
        """A string without mechanism: tuned once for the movement, whatever its pedal does."""
        if not strike.real:
            return
        place = self._moments.places[index]
        key = (movement, sounding.string)
        if key not in self._tunings:
            self._tunings[key] = (sounding.position, strike.head.id)
            if sounding.position is not Position.NATURAL:
                self.demands.findings.append(
                    tuned_by_hand(place, strike.staff, strike.head, sounding)
                )
        tuned, _ = self._tunings[key]
        if tuned is sounding.position:
            self.give(strike, sounding)
            return
        self.give(strike, None)
        self.demands.findings.append(two_tunings(place, strike.staff, strike.head, sounding, tuned))

    def remark_moved(
        self,
        moment: int,
        moved: Sequence[tuple[Strike, Sounding]],
        clashing: Collection[tuple[str, Pitch]],
    ) -> None:
        """Tell the notes that are played on another letter than written, by the reason for it.

        Where the reason lies in what stands around, it is kept for later.
        """
        place = self._moments.places[moment]
        reasons: dict[Why, list[tuple[int, Head, Pitch, Sounding]]] = {}
        for strike, sounding in moved:
            if pinned_as(strike) in self._pins.barred:
                why = Why.DECIDED
            elif (strike.head.id, strike.pitch) in clashing:
                why = Why.CLASH
            elif self._pins.freely:
                why = Why.FEWER_CHANGES
            else:
                self.demands.elsewhere.append(
                    Elsewhere(
                        moment,
                        place,
                        strike.staff,
                        strike.head,
                        strike.pitch,
                        sounding,
                        strike.until,
                    )
                )
                continue
            told = (strike.staff, strike.head, strike.pitch, sounding)
            reasons.setdefault(why, []).append(told)
        for why in (Why.DECIDED, Why.CLASH, Why.FEWER_CHANGES):
            if why in reasons:
                self.demands.findings.append(respelled_notes(place, reasons[why], why))

    def during(self, lost: Sequence[Strike], holdings: Sequence[Holding]) -> str:
        """What keeps the pedals of lost notes in place, in words; empty if nothing does."""
        if not holdings:
            return ""
        wanted = {sounding.letter for strike in lost for sounding in strike.soundings}
        concerned = [held for held in holdings if held.letter in wanted]
        return self._names.longer([note for held in concerned for note in held.notes])

    @cached_property
    def _names(self) -> NotesByName:
        return NotesByName(self._part)

    def remark_doubles(self, moment_of: Mapping[str, int]) -> None:
        """Tell the double alterations; ``moment_of`` gives the moment of each head."""
        for (_, name, played), notes in self._doubled.items():
            place = self._moments.places[moment_of[notes[0]]]
            self.demands.findings.append(double_alteration(place, tuple(notes), name, played))


def pinned_as(strike: Strike) -> str:
    """The id by which a decision about it is known."""
    return beside(strike.head.id) if strike.neighbour else strike.head.id
