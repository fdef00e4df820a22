"""What the music asks of the pedals: at every moment, the letters that must stand somewhere.

Every struck note gets its string here: as written where that is possible, else on its equivalent,
else none (and a finding says which notes are lost and why).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property

from pedalsetter.analysis.harp import LETTERS, Harp, Letter, Position, String
from pedalsetter.analysis.part import Event, HarpPart, Head, Place
from pedalsetter.analysis.pedal_plan import Finding, StringUse
from pedalsetter.analysis.planning.chord import Answer, Wish, settle
from pedalsetter.analysis.planning.clock import Clock
from pedalsetter.analysis.planning.moments import Moments, place_of
from pedalsetter.analysis.planning.needs import Chord, Need, later, weight_of
from pedalsetter.analysis.planning.pins import NO_PINS, NOTHING_BARRED, Choice, Pins, beside
from pedalsetter.analysis.planning.sentences import (
    Why,
    double_alteration,
    glissando_not_in_setting,
    lost_notes,
    no_time_for,
    out_of_compass,
    respelled_notes,
    tuned_by_hand,
    two_tunings,
)
from pedalsetter.analysis.planning.strikes import Strike, read_strikes
from pedalsetter.analysis.planning.sustained import Glissando, Keys, find_glissandi
from pedalsetter.analysis.planning.weights import register_of
from pedalsetter.analysis.respelling import Pitch, Sounding
from pedalsetter.analysis.wording import NotesByName

__all__ = ["Demands", "read_demands"]


@dataclass(frozen=True, slots=True)
class Demands:
    """All needs of a part."""

    needs: tuple[Mapping[Letter, Need], ...]
    """For each moment, by letter. A need without notes is a decision of the musician."""
    strings: Mapping[str, StringUse]
    frozen: frozenset[int]
    """Moments at which no pedal may move, because a glissando is under way."""
    chords: Mapping[int, tuple[Chord, Answer]]
    """Moments at which nothing is trilled or slid: what is struck there, and how it is answered."""
    findings: tuple[Finding, ...]
    unmet: int = 0
    """Decisions where pedals are to stand that the notes leave no room for."""
    held: Mapping[int, tuple[Chord, Answer]] = field(default_factory=dict)
    """As ``chords``, for the moments at which something is trilled or slid, or goes on so."""
    cramped: Mapping[int, frozenset[int]] = field(default_factory=dict)
    """Moments at which notes have no string because something is trilled or slid, each with those
    at which that began."""
    lasting: Mapping[int, int] = field(default_factory=dict)
    """Moments at which something begins that is struck again later, and the last one of that."""
    sliding: frozenset[int] = frozenset()
    """Moments at which a glissando begins or goes on."""
    neighbours: tuple[StringUse, ...] = ()
    """Neighbours of ornamented notes that are played on another letter than they are read on."""
    silent_neighbours: int = 0
    """Neighbours of ornamented notes that have no string."""
    keeps: Mapping[tuple[int, Letter], int] = field(default_factory=dict)
    """For each moment and letter that something trilled or slid keeps there its last moment."""


@dataclass(slots=True)
class _Holding:
    """Letters that a trill, tremolo or glissando keeps in place up to a moment."""

    first: int
    last: int
    letter: Letter
    position: Position
    notes: tuple[str, ...]
    registers: tuple[int, ...] = ()
    stroke: int | None = None
    """As in :class:`Need`."""


@dataclass(slots=True)
class _Gathered:
    strings: dict[str, StringUse] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    frozen: set[int] = field(default_factory=set)
    chords: dict[int, tuple[Chord, Answer]] = field(default_factory=dict)
    unmet: int = 0
    held: dict[int, tuple[Chord, Answer]] = field(default_factory=dict)
    cramped: dict[int, frozenset[int]] = field(default_factory=dict)
    lasting: dict[int, int] = field(default_factory=dict)
    sliding: set[int] = field(default_factory=set)
    neighbours: list[StringUse] = field(default_factory=list)
    silent_neighbours: int = 0
    keeps: dict[tuple[int, Letter], int] = field(default_factory=dict)


def read_demands(
    part: HarpPart,
    harp: Harp,
    moments: Moments,
    clock: Clock,
    graces: Mapping[str, int],
    lost: Mapping[str, str] | None = None,
    answers: Mapping[int, Answer] | None = None,
    pins: Pins = NO_PINS,
    strikes: Mapping[int, list[Strike]] | None = None,
    untimely: Mapping[tuple[int, int], str] | None = None,
) -> Demands:
    """Return every need of the part, and a string for every struck note.

    ``lost`` names heads that an earlier attempt found no time for, each with the reason; they get
    no string. ``answers`` prescribes the strings of whole moments, where a respelling saves the
    passage around it. ``pins`` are the musician's decisions; none is ever met at the price of
    another, but notes may be lost for them. ``strikes`` are those of the part, if they are known.
    ``untimely`` gives by moment and number of the wish the reason why it was left out, where that
    is lack of time.
    Linear in the number of notes.
    """
    if strikes is None:
        strikes = read_strikes(part, harp, moments, clock, graces)
    reader = _Reader(part, harp, moments, graces, strikes, lost or {}, answers or {}, pins)
    reader.untimely = untimely or {}
    return reader.read()


class _Reader:
    def __init__(
        self,
        part: HarpPart,
        harp: Harp,
        moments: Moments,
        graces: Mapping[str, int],
        strikes: Mapping[int, list[Strike]],
        lost: Mapping[str, str],
        answers: Mapping[int, Answer],
        pins: Pins,
    ) -> None:
        self._answers = answers
        self.untimely: Mapping[tuple[int, int], str] = {}
        self._pins = pins
        self._part = part
        self._harp = harp
        self._moments = moments
        self._strikes = strikes
        self._graces = graces
        self._lost = lost
        self._keys = Keys(part)
        self._out = _Gathered()
        self._tunings: dict[tuple[int, String], tuple[Position, str]] = {}
        self._doubled: dict[tuple[int, str, str], list[str]] = {}

    def read(self) -> Demands:
        strikes = self._strikes
        lines: dict[int, list[Glissando]] = {}
        for line in find_glissandi(self._part, self._keys, self._graces):
            if any(note in self._lost for note in line.notes):
                continue
            lines.setdefault(self._moment(line.start), []).append(line)
        needs: list[dict[Letter, Need]] = []
        holdings: list[_Holding] = []
        standing = dict(self._keys.setting(Fraction(0)))
        movement = -1
        for index, place in enumerate(self._moments.places):
            bar = self._part.bars[place.bar]
            if bar.movement != movement:
                movement, holdings = bar.movement, []
                standing = dict(self._keys.setting(bar.start))
            holdings = [held for held in holdings if held.last >= index]
            here = strikes.get(index, [])
            if not (here or holdings or index in lines or place in self._pins.stands):
                needs.append({})
                continue
            found, begun = self._settle(index, here, holdings, standing)
            holdings.extend(begun)
            for held in holdings:
                last = self._out.keeps.get((index, held.letter), held.last)
                self._out.keeps[index, held.letter] = max(last, held.last)
            for line in lines.get(index, ()):
                if index in self._out.chords:
                    self._out.held[index] = self._out.chords.pop(index)
                for held in self._slide(index, line, found, strikes):
                    holdings.append(held)
                    self._out.keeps[index, held.letter] = held.last
            needs.append(found)
            for letter, need in found.items():
                if need.notes:
                    standing[letter] = need.position
        self._remark_doubles()
        return Demands(
            tuple(needs),
            self._out.strings,
            frozenset(self._out.frozen),
            self._out.chords,
            tuple(self._out.findings),
            self._out.unmet,
            self._out.held,
            self._out.cramped,
            self._out.lasting,
            frozenset(self._out.sliding),
            tuple(self._out.neighbours),
            self._out.silent_neighbours,
            self._out.keeps,
        )

    def _moment(self, event: Event) -> int:
        known = self._moments.of_event.get(event.id)
        if known is not None:
            return known
        return self._moments.index(place_of(self._part, event, self._graces))

    def _settle(
        self,
        index: int,
        strikes: list[Strike],
        holdings: list[_Holding],
        standing: Mapping[Letter, Position],
    ) -> tuple[dict[Letter, Need], list[_Holding]]:
        """Needs of one moment, and what trills and tremolos keep in place after it."""
        place = self._moments.places[index]
        movement = self._part.bars[place.bar].movement
        groups: dict[tuple[tuple[Choice, ...], bool, frozenset[Choice]], list[Strike]] = {}
        fixed = {held.letter: held for held in holdings}
        for strike in strikes:
            if strike.head.id in self._lost:
                if strike.real:
                    self._give(strike, None)
                    reason = self._lost[strike.head.id]
                    self._out.findings.append(no_time_for(place, strike.staff, strike.head, reason))
                continue
            if not strike.soundings:
                if strike.real:
                    self._give(strike, None)
                if strike.real or strike.pitch != strike.head.pitch:
                    # The neighbour that an ornament adds is written nowhere, but it is to sound.
                    self._out.findings.append(
                        out_of_compass(place, strike.staff, strike.head, strike.pitch)
                    )
                continue
            doubled = abs(strike.pitch.alter) == 2
            barred = self._barred(strike)
            by_hand = next(
                (one for one in strike.soundings if not self._harp.works_by_pedal(one.string)), None
            )
            first = strike.soundings[0]
            if by_hand is first and (first.letter, first.position) not in barred:
                self._tune(index, movement, strike, first)
                continue
            choices = tuple(
                sorted(
                    (
                        (one.letter, one.position)
                        for one in strike.soundings
                        if self._harp.works_by_pedal(one.string)
                    ),
                    key=lambda one: doubled and one[1] is not Position.NATURAL,
                )
            )
            if not choices:
                # The only strings that were decided have no pedal.
                self._out.unmet += 1
                self._give(strike, None)
                continue
            if strike.lasts > index:
                last = self._out.lasting.get(index, strike.lasts)
                self._out.lasting[index] = max(last, strike.lasts)
            barred &= frozenset(choices)
            groups.setdefault((choices, doubled, barred), []).append(strike)
        stands = self._pins.stands.get(place, {})
        pinned: list[tuple[Wish, tuple[Strike, ...]]] = [
            (Wish(((letter, stand.position),), 1000, True), ()) for letter, stand in stands.items()
        ]
        chord = Chord(
            (
                *(
                    (Wish(choices, weight_of(group), doubled, barred), tuple(group))
                    for (choices, doubled, barred), group in groups.items()
                ),
                *pinned,
            ),
            frozenset(letter for letter, stand in stands.items() if stand.moved),
        )
        wishes = [Wish(((letter, held.position),), 1000, True) for letter, held in fixed.items()]
        wishes += [wish for wish, _ in chord.groups]
        prescribed = self._answers.get(index)
        if prescribed is not None and any(
            choice is not None and choice[0] in fixed and fixed[choice[0]].position is not choice[1]
            for choice in prescribed
        ):
            # What was trilled when that was found out is held otherwise now.
            prescribed = None
        answer = prescribed or settle(wishes, standing)[len(fixed) :]
        found = chord.needs(answer)
        for held in holdings:
            need = found.get(held.letter, Need(held.position, (), 0))
            notes = tuple(dict.fromkeys(held.notes + need.notes))
            registers = tuple(sorted({*need.registers, *held.registers}))
            stroke = later(need.stroke, held.stroke)
            if need.notes and stroke is not None and stroke < self._moments.microseconds[index]:
                # What is held has sounded for the last time before this note of its letter.
                stroke = need.stroke
            found[held.letter] = replace(need, notes=notes, registers=registers, stroke=stroke)
        begun: list[_Holding] = []
        lost: list[Strike] = []
        kept: list[str] = []
        moved: list[tuple[Strike, Sounding]] = []
        for number, ((wish, group), choice) in enumerate(zip(chord.groups, answer, strict=True)):
            self._out.unmet += choice is None and not group
            if choice is None and not any(one.counts for one in group):
                # What only goes on counts as a neighbour does.
                self._out.silent_neighbours += bool(group)
            for strike in group:
                if choice is None:
                    untimely = self.untimely.get((index, number))
                    if untimely is None:
                        lost.append(strike)
                    elif strike.real:
                        self._out.findings.append(
                            no_time_for(place, strike.staff, strike.head, untimely)
                        )
                    if strike.real:
                        self._give(strike, None)
                    self._out.silent_neighbours += strike.neighbour
                    continue
                kept.append(strike.pitch.name)
                sounding = strike.on(choice)
                if strike.real:
                    self._give(strike, sounding)
                    if abs(strike.pitch.alter) == 2:
                        name = (movement, strike.pitch.name, sounding.name)
                        self._doubled.setdefault(name, []).append(strike.head.id)
                    elif sounding.letter is not strike.pitch.letter:
                        moved.append((strike, sounding))
                elif strike.neighbour and wish.strays(wish.choices.index(choice)):
                    use = StringUse(strike.head.id, strike.pitch, sounding)
                    self._out.neighbours.append(use)
                    moved.append((strike, sounding))
                if strike.lasts > index:
                    notes = (strike.head.id,)
                    registers = (register_of(sounding.string.octave),)
                    begun.append(
                        _Holding(index, strike.lasts, *choice, notes, registers, strike.last_stroke)
                    )
        if not fixed and not begun and index not in self._out.frozen:
            self._out.chords[index] = (chord, answer)
        else:
            self._out.held[index] = (chord, answer)
            if lost and fixed:
                self._out.cramped[index] = frozenset(held.first for held in holdings)
        if lost:
            heads = [(strike.staff, strike.head, strike.pitch) for strike in lost]
            self._out.findings.append(lost_notes(place, heads, kept, self._during(lost, holdings)))
        if moved:
            # A note that is respelled at a moment by itself clashes there with what else is struck.
            alone = answer
            if prescribed is not None:
                alone = settle(wishes, standing)[len(fixed) :]
            clashing = {
                (strike.head.id, strike.pitch)
                for (_, group), one, choice in zip(chord.groups, alone, answer, strict=True)
                for strike in group
                if one == choice
            }
            self._remark_moved(place, moved, clashing)
        return found, begun

    def _remark_moved(
        self,
        place: Place,
        moved: Sequence[tuple[Strike, Sounding]],
        clashing: Collection[tuple[str, Pitch]],
    ) -> None:
        """Tell the notes that are played on another letter than written, by the reason for it."""
        reasons: dict[Why, list[tuple[int, Head, Pitch, Sounding]]] = {}
        for strike, sounding in moved:
            why = Why.FEWER_CHANGES if self._pins.freely else Why.TIME
            if _pinned_as(strike) in self._pins.barred:
                why = Why.DECIDED
            elif (strike.head.id, strike.pitch) in clashing:
                why = Why.CLASH
            told = (strike.staff, strike.head, strike.pitch, sounding)
            reasons.setdefault(why, []).append(told)
        for why in (Why.DECIDED, Why.CLASH, Why.TIME, Why.FEWER_CHANGES):
            if why in reasons:
                self._out.findings.append(respelled_notes(place, reasons[why], why))

    def _during(self, lost: Sequence[Strike], holdings: Sequence[_Holding]) -> str:
        """What keeps the pedals of lost notes in place, in words; empty if nothing does."""
        if not holdings:
            return ""
        wanted = {sounding.letter for strike in lost for sounding in strike.soundings}
        concerned = [held for held in holdings if held.letter in wanted]
        return self._names.longer([note for held in concerned for note in held.notes])

    @cached_property
    def _names(self) -> NotesByName:
        return NotesByName(self._part)

    def _barred(self, strike: Strike) -> frozenset[Choice]:
        """The strings that a note may not have; never all, unless that was decided of itself."""
        head = _pinned_as(strike)
        barred = self._pins.barred_for(head, strike.pitch)
        if barred and head not in self._pins.barred:
            strings = {(one.letter, one.position) for one in strike.soundings}
            return NOTHING_BARRED if strings <= barred else barred
        return barred

    def _give(self, strike: Strike, sounding: Sounding | None) -> None:
        head = strike.head
        self._out.strings[head.id] = StringUse(head.id, head.pitch, sounding)

    def _tune(self, index: int, movement: int, strike: Strike, sounding: Sounding) -> None:
        """A string without mechanism: tuned once for the movement, whatever its pedal does."""
        if not strike.real:
            return
        place = self._moments.places[index]
        key = (movement, sounding.string)
        if key not in self._tunings:
            self._tunings[key] = (sounding.position, strike.head.id)
            if sounding.position is not Position.NATURAL:
                self._out.findings.append(tuned_by_hand(place, strike.staff, strike.head, sounding))
        tuned, _ = self._tunings[key]
        if tuned is sounding.position:
            self._give(strike, sounding)
            return
        self._give(strike, None)
        self._out.findings.append(two_tunings(place, strike.staff, strike.head, sounding, tuned))

    def _slide(
        self,
        index: int,
        line: Glissando,
        found: dict[Letter, Need],
        strikes: Mapping[int, list[Strike]],
    ) -> list[_Holding]:
        """Freeze the pedals for a glissando; ``found`` gains the needs of its first moment."""
        last = max(self._moment(line.stop), index)
        self._out.frozen.update(range(index + 1, last + 1))
        self._out.sliding.update(range(index, last + 1))
        setting = dict(line.setting)
        if not line.from_source:
            # Notes struck meanwhile are written on purpose; the line's letters were only inferred.
            ends = {head.pitch.letter for head in line.heads}
            for moment in range(index + 1, last + 1):
                for strike in strikes.get(moment, ()):
                    letter = strike.pitch.letter
                    plain = bool(strike.soundings) and strike.soundings[0].letter is letter
                    if plain and letter not in ends:
                        setting[letter] = strike.soundings[0].position
        wrong: list[Letter] = []
        holdings: list[_Holding] = []
        for letter in LETTERS:
            need = found.get(letter)
            position = setting.get(letter)
            struck = False
            if need is not None:
                struck = bool(need.notes)
                if struck and position is not None and need.position is not position:
                    wrong.append(letter)
                position = need.position
            if position is None:
                continue
            if not struck:
                moved = need is not None and need.moved
                found[letter] = Need(position, line.notes, 0, moved=moved)
            holdings.append(_Holding(index, last, letter, position, line.notes))
        if wrong:
            place = self._moments.places[index]
            self._out.findings.append(
                glissando_not_in_setting(place, line.start.staff, line.notes, wrong)
            )
        return holdings

    def _remark_doubles(self) -> None:
        first: dict[str, int] = {}
        for event, head in self._part.notes():
            first[head.id] = self._moment(event)
        for (_, name, played), notes in self._doubled.items():
            place = self._moments.places[first[notes[0]]]
            self._out.findings.append(double_alteration(place, tuple(notes), name, played))


def _pinned_as(strike: Strike) -> str:
    """The id by which a decision about it is known."""
    return beside(strike.head.id) if strike.neighbour else strike.head.id
