"""What the music asks of the pedals: at every moment, the letters that must stand somewhere.

Every struck note gets its string here: as written where that is possible, else on its equivalent,
else none (and a finding says which notes are lost and why).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import LETTERS, Harp, Letter, Position
from pedalsetter.analysis.instrument.respelling import Sounding
from pedalsetter.analysis.part import Event, HarpPart
from pedalsetter.analysis.pedal_plan import StringUse
from pedalsetter.analysis.planning.chord import Answer, Wish, settle
from pedalsetter.analysis.planning.decided_lines import with_decided_marks
from pedalsetter.analysis.planning.gathered import Demands, Gathered, Holding, pinned_as
from pedalsetter.analysis.planning.needs import Chord, Need, later, weight_of
from pedalsetter.analysis.planning.pins import NO_PINS, NOTHING_BARRED, Choice, Pins
from pedalsetter.analysis.planning.sentences import (
    glissando_not_in_setting,
    lost_notes,
    no_time_for,
    out_of_compass,
)
from pedalsetter.analysis.planning.weights import register_of
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.glissandi import Glissando, find_glissandi
from pedalsetter.analysis.playing.moments import Moments, place_of
from pedalsetter.analysis.playing.strikes import Strike, read_strikes
from pedalsetter.analysis.playing.sustained import Keys

__all__ = ["Demands", "read_demands"]


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
        self._out = Gathered(part, moments, pins)
        self._all = self._out.demands

    def read(self) -> Demands:
        strikes = self._strikes
        lines: dict[int, list[Glissando]] = {}
        told = with_decided_marks(self._part, self._pins)
        for line in find_glissandi(told, self._keys, self._graces):
            if any(note in self._lost for note in line.notes):
                continue
            lines.setdefault(self._moment(line.start), []).append(line)
        needs = self._all.needs
        holdings: list[Holding] = []
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
                last = self._all.keeps.get((index, held.letter), held.last)
                self._all.keeps[index, held.letter] = max(last, held.last)
            for line in lines.get(index, ()):
                if index in self._all.chords:
                    self._all.held[index] = self._all.chords.pop(index)
                for held in self._slide(index, line, found, strikes):
                    holdings.append(held)
                    self._all.keeps[index, held.letter] = held.last
            needs.append(found)
            for letter, need in found.items():
                if need.notes:
                    standing[letter] = need.position
        self._out.remark_doubles(
            {head.id: self._moment(event) for event, head in self._part.notes()}
        )
        return self._all

    def _moment(self, event: Event) -> int:
        known = self._moments.of_event.get(event.id)
        if known is not None:
            return known
        return self._moments.index(place_of(self._part, event, self._graces))

    def _settle(
        self,
        index: int,
        strikes: list[Strike],
        holdings: list[Holding],
        standing: Mapping[Letter, Position],
    ) -> tuple[dict[Letter, Need], list[Holding]]:
        """Needs of one moment, and what trills and tremolos keep in place after it."""
        place = self._moments.places[index]
        movement = self._part.bars[place.bar].movement
        groups: dict[tuple[tuple[Choice, ...], bool, frozenset[Choice]], list[Strike]] = {}
        fixed = {held.letter: held for held in holdings}
        for strike in strikes:
            if strike.head.id in self._lost:
                if strike.real:
                    self._out.give(strike, None)
                    reason = self._lost[strike.head.id]
                    self._all.findings.append(no_time_for(place, strike.staff, strike.head, reason))
                continue
            if not strike.soundings:
                if strike.real:
                    self._out.give(strike, None)
                if strike.real or strike.pitch != strike.head.pitch:
                    # The neighbour that an ornament adds is written nowhere, but it is to sound.
                    self._all.findings.append(
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
                self._out.tune(index, movement, strike, first)
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
                self._all.unmet.append(place)
                self._out.give(strike, None)
                continue
            if strike.lasts > index:
                last = self._all.lasting.get(index, strike.lasts)
                self._all.lasting[index] = max(last, strike.lasts)
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
        begun: list[Holding] = []
        lost: list[Strike] = []
        kept: list[str] = []
        moved: list[tuple[Strike, Sounding]] = []
        for number, ((wish, group), choice) in enumerate(zip(chord.groups, answer, strict=True)):
            if choice is None and not group:
                self._all.unmet.append(place)
            elif choice is None and not any(one.counts for one in group):
                # What only goes on counts as a neighbour does.
                self._all.silent_neighbours.append(group[0].head.id)
            for strike in group:
                if choice is None:
                    untimely = self.untimely.get((index, number))
                    if untimely is None:
                        lost.append(strike)
                    elif strike.real:
                        self._all.findings.append(
                            no_time_for(place, strike.staff, strike.head, untimely)
                        )
                    if strike.real:
                        self._out.give(strike, None)
                    if strike.neighbour:
                        self._all.silent_neighbours.append(strike.head.id)
                    continue
                kept.append(strike.pitch.name)
                sounding = strike.on(choice)
                if strike.real:
                    self._out.give(strike, sounding)
                    if abs(strike.pitch.alter) == 2:
                        self._out.double(movement, strike, sounding)
                    elif sounding.letter is not strike.pitch.letter:
                        moved.append((strike, sounding))
                elif strike.neighbour and wish.strays(wish.choices.index(choice)):
                    use = StringUse(strike.head.id, strike.pitch, sounding)
                    self._all.neighbours.append(use)
                    moved.append((strike, sounding))
                if strike.lasts > index:
                    notes = (strike.head.id,)
                    registers = (register_of(sounding.string.octave),)
                    begun.append(
                        Holding(index, strike.lasts, *choice, notes, registers, strike.last_stroke)
                    )
        if not fixed and not begun and index not in self._all.sliding:
            self._all.chords[index] = (chord, answer)
        else:
            self._all.held[index] = (chord, answer)
        if lost:
            heads = [(strike.staff, strike.head, strike.pitch) for strike in lost]
            self._all.findings.append(
                lost_notes(place, heads, kept, self._out.during(lost, holdings))
            )
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
            self._out.remark_moved(index, moved, clashing)
        return found, begun

    def _barred(self, strike: Strike) -> frozenset[Choice]:
        """The strings that a note may not have; never all, unless that was decided of itself."""
        head = pinned_as(strike)
        barred = self._pins.barred_for(head, strike.pitch)
        if barred and head not in self._pins.barred:
            strings = {(one.letter, one.position) for one in strike.soundings}
            return NOTHING_BARRED if strings <= barred else barred
        return barred

    def _slide(
        self,
        index: int,
        line: Glissando,
        found: dict[Letter, Need],
        strikes: Mapping[int, list[Strike]],
    ) -> list[Holding]:
        """Hold the pedals for a glissando; ``found`` gains the needs of its first moment."""
        last = max(self._moment(line.stop), index)
        self._all.sliding.update(range(index, last + 1))
        setting = dict(line.setting)
        if line.given is None:
            # Notes struck meanwhile are written on purpose; the line's letters were only inferred.
            ends = {head.pitch.letter for head in line.heads}
            for moment in range(index + 1, last + 1):
                for strike in strikes.get(moment, ()):
                    letter = strike.pitch.letter
                    plain = bool(strike.soundings) and strike.soundings[0].letter is letter
                    if plain and letter in setting and letter not in ends:
                        setting[letter] = strike.soundings[0].position
        wrong: list[Letter] = []
        holdings: list[Holding] = []
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
            until = line.held_to(letter, self._part, self._moments, (index, last))
            holdings.append(Holding(index, until, letter, position, line.notes))
        if wrong:
            place = self._moments.places[index]
            self._all.findings.append(
                glissando_not_in_setting(place, line.start.staff, line.notes, wrong)
            )
        return holdings
