"""What the music asks of the pedals: at every moment, the letters that must stand somewhere.

Every struck note gets its string here: as written where that is possible, else on its equivalent,
else none (and a finding says which notes are lost and why).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from pedalsetter.analysis.harp import LETTERS, Harp, Letter, Position, String
from pedalsetter.analysis.part import Event, HarpPart, Head
from pedalsetter.analysis.pedal_plan import Finding, StringUse
from pedalsetter.analysis.planning.chord import Wish, settle
from pedalsetter.analysis.planning.clock import Clock
from pedalsetter.analysis.planning.moments import Moments, is_struck, place_of
from pedalsetter.analysis.planning.sentences import (
    double_alteration,
    glissando_not_in_setting,
    lost_notes,
    no_time_for,
    out_of_compass,
    respelled_notes,
    tuned_by_hand,
    two_tunings,
)
from pedalsetter.analysis.planning.sustained import (
    Glissando,
    Keys,
    find_glissandi,
    neighbours,
    tied_ends,
    tremolo_pairs,
)
from pedalsetter.analysis.planning.weights import register_of
from pedalsetter.analysis.respelling import Pitch, Sounding, strings_for

__all__ = ["Demands", "Need", "read_demands"]


@dataclass(frozen=True, slots=True)
class Need:
    """One letter must stand in one position at one moment."""

    position: Position
    notes: tuple[str, ...]
    """Ids of the noteheads that need it."""
    until: int
    """Microseconds on the page until which the longest of them is written to sound."""
    registers: tuple[int, ...] = ()
    """Registers in which strings of the letter are plucked here."""


@dataclass(frozen=True, slots=True)
class Demands:
    """All needs of a part."""

    needs: tuple[Mapping[Letter, Need], ...]
    """For each moment, by letter."""
    strings: Mapping[str, StringUse]
    frozen: frozenset[int]
    """Moments at which no pedal may move, because a glissando is under way."""
    findings: tuple[Finding, ...]


@dataclass(slots=True)
class _Strike:
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


@dataclass(slots=True)
class _Holding:
    """Letters that a trill, tremolo or glissando keeps in place up to a moment."""

    last: int
    letter: Letter
    position: Position
    notes: tuple[str, ...]


@dataclass(slots=True)
class _Gathered:
    strings: dict[str, StringUse] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    frozen: set[int] = field(default_factory=set)


def read_demands(
    part: HarpPart,
    harp: Harp,
    moments: Moments,
    clock: Clock,
    graces: Mapping[str, int],
    lost: Mapping[str, str] | None = None,
) -> Demands:
    """Return every need of the part, and a string for every struck note.

    ``lost`` names heads that an earlier attempt found no time for, each with the reason; they get
    no string. Linear in the number of notes.
    """
    return _Reader(part, harp, moments, clock, graces, lost or {}).read()


class _Reader:
    def __init__(
        self,
        part: HarpPart,
        harp: Harp,
        moments: Moments,
        clock: Clock,
        graces: Mapping[str, int],
        lost: Mapping[str, str],
    ) -> None:
        self._part = part
        self._harp = harp
        self._moments = moments
        self._clock = clock
        self._graces = graces
        self._lost = lost
        self._keys = Keys(part)
        self._out = _Gathered()
        self._tunings: dict[tuple[int, String], tuple[Position, str]] = {}
        self._doubled: dict[tuple[int, str, str], list[str]] = {}

    def read(self) -> Demands:
        strikes = self._strikes()
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
            if not here and not holdings and index not in lines:
                needs.append({})
                continue
            found, begun = self._settle(index, here, holdings, standing)
            holdings.extend(begun)
            for line in lines.get(index, ()):
                holdings.extend(self._slide(index, line, found, strikes))
            needs.append(found)
            for letter, need in found.items():
                standing[letter] = need.position
        self._remark_doubles()
        frozen = frozenset(self._out.frozen)
        return Demands(tuple(needs), self._out.strings, frozen, tuple(self._out.findings))

    def _moment(self, event: Event) -> int:
        return self._moments.index(place_of(self._part, event, self._graces))

    def _microseconds(self, onset: Fraction) -> int:
        return round(self._clock.seconds(onset) * 1_000_000)

    def _last_moment_before(self, onset: Fraction, at_least: int) -> int:
        """The last moment strictly before score time ``onset``."""
        last = at_least
        places, bars = self._moments.places, self._part.bars
        while last + 1 < len(places):
            place = places[last + 1]
            if bars[place.bar].start + place.offset >= onset:
                break
            last += 1
        return last

    def _strikes(self) -> dict[int, list[_Strike]]:
        """Everything that is struck, by moment, as written."""
        ends, continued = tied_ends(self._part)
        strikes: dict[int, list[_Strike]] = {}
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
                until = self._microseconds(max(ends.get(head.id, end), end))
                if event.grace is not None and ends.get(head.id, end) == end:
                    # A grace note has no length in score time; it sounds to the next moment.
                    until = self._moments.microseconds[moment + 1]
                lasts = self._last_moment_before(end, moment) if again else moment
                real = head.id not in continued
                strike = _Strike(
                    head.pitch, head, event.staff, self._soundings(event, head), until, real, lasts
                )
                if begin != moment and real:
                    # The second half of a tremolo is struck from its beginning.
                    strikes.setdefault(begin, []).append(replace(strike, real=False))
                strikes.setdefault(moment, []).append(strike)
            for pitch, lasting in neighbours(event, self._keys):
                lasts = self._last_moment_before(event.end, moment) if lasting else moment
                until = self._microseconds(event.end)
                head = event.heads[-1]
                own = _Strike(
                    head.pitch, head, event.staff, self._soundings(event, head), until, False, lasts
                )
                other = replace(own, pitch=pitch, soundings=self._playable(strings_for(pitch)))
                strikes.setdefault(moment, []).extend((own, other) if lasting else (other,))
        return strikes

    def _soundings(self, event: Event, head: Head) -> tuple[Sounding, ...]:
        pitch = head.pitch
        if event.harmonic_printed_at_sound:
            pitch = replace(pitch, octave=pitch.octave - 1)
        return self._playable(strings_for(pitch))

    def _playable(self, soundings: Iterable[Sounding]) -> tuple[Sounding, ...]:
        return tuple(sounding for sounding in soundings if self._harp.has(sounding.string))

    def _settle(
        self,
        index: int,
        strikes: list[_Strike],
        holdings: list[_Holding],
        standing: Mapping[Letter, Position],
    ) -> tuple[dict[Letter, Need], list[_Holding]]:
        """Needs of one moment, and what trills and tremolos keep in place after it."""
        place = self._moments.places[index]
        movement = self._part.bars[place.bar].movement
        groups: dict[tuple[tuple[tuple[Letter, Position], ...], bool], list[_Strike]] = {}
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
                    self._out.findings.append(out_of_compass(place, strike.staff, strike.head))
                continue
            by_hand = next(
                (one for one in strike.soundings if not self._harp.works_by_pedal(one.string)), None
            )
            if by_hand is not None and by_hand is strike.soundings[0]:
                self._tune(index, movement, strike, by_hand)
                continue
            doubled = abs(strike.pitch.alter) == 2
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
            groups.setdefault((choices, doubled), []).append(strike)
        keys = list(groups)
        wishes = [
            Wish(((letter, held.position),), 1000, True) for letter, held in fixed.items()
        ] + [Wish(choices, len(groups[choices, doubled]), doubled) for choices, doubled in keys]
        answers = settle(wishes, standing)
        found: dict[Letter, Need] = {
            letter: Need(held.position, held.notes, 0) for letter, held in fixed.items()
        }
        begun: list[_Holding] = []
        lost: list[_Strike] = []
        moved: list[tuple[_Strike, Sounding]] = []
        for key, answer in zip(keys, answers[len(fixed) :], strict=True):
            for strike in groups[key]:
                if answer is None:
                    lost.append(strike)
                    if strike.real:
                        self._give(strike, None)
                    continue
                letter, position = answer
                sounding = next(
                    one for one in strike.soundings if (one.letter, one.position) == answer
                )
                if strike.real:
                    self._give(strike, sounding)
                    if abs(strike.pitch.alter) == 2:
                        name = (movement, strike.pitch.name, sounding.name)
                        self._doubled.setdefault(name, []).append(strike.head.id)
                    elif sounding.letter is not strike.pitch.letter:
                        moved.append((strike, sounding))
                register = register_of(sounding.string.octave)
                need = found.get(letter, Need(position, (), 0))
                found[letter] = Need(
                    position,
                    tuple(dict.fromkeys((*need.notes, strike.head.id))),
                    max(need.until, strike.until),
                    tuple(sorted({*need.registers, register})),
                )
                if strike.lasts > index:
                    begun.append(_Holding(strike.lasts, letter, position, (strike.head.id,)))
        if lost:
            heads = [(strike.staff, strike.head, strike.pitch) for strike in lost]
            kept = [
                strike.pitch.name for key in keys for strike in groups[key] if strike not in lost
            ]
            self._out.findings.append(lost_notes(place, heads, kept, bool(fixed)))
        if moved:
            pairs = [(strike.staff, strike.head, sounding) for strike, sounding in moved]
            self._out.findings.append(respelled_notes(place, pairs))
        return found, begun

    def _give(self, strike: _Strike, sounding: Sounding | None) -> None:
        head = strike.head
        self._out.strings[head.id] = StringUse(head.id, head.pitch, sounding)

    def _tune(self, index: int, movement: int, strike: _Strike, sounding: Sounding) -> None:
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
        strikes: Mapping[int, list[_Strike]],
    ) -> list[_Holding]:
        """Freeze the pedals for a glissando; ``found`` gains the needs of its first moment."""
        last = max(self._moment(line.stop), index)
        self._out.frozen.update(range(index + 1, last + 1))
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
            if need is not None and position is not None and need.position is not position:
                wrong.append(letter)
            if need is not None:
                position = need.position
            if position is None:
                continue
            if need is None:
                found[letter] = Need(position, line.notes, 0)
            holdings.append(_Holding(last, letter, position, line.notes))
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
