"""Glissandi: what their lines sound, and from when on each pedal may move again.

A glissando sounds every string that it passes, one after the other, evenly in the time from its
first note to its last. A pedal may not move before the last string of its letter has been passed;
from the next string on it may, for only what is swept after a move is affected. So all pedals but
that of its last note are free where that note is played, which is where the next glissando begins
(common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position, Setting
from pedalsetter.analysis.instrument.respelling import Pitch, strings_for
from pedalsetter.analysis.part import Event, HarpPart, Head, SourceMark, glissando_lines
from pedalsetter.analysis.playing.moments import Moments, is_struck, place_of
from pedalsetter.analysis.playing.sustained import Keys

__all__ = ["RUN_BARS", "Glissando", "find_glissandi", "held_by"]

_SCALE = "CDEFGAB"

RUN_BARS = 4
"""A glissando fewer bars after the end of another belongs to the same run (no source)."""


@dataclass(frozen=True, slots=True)
class Glissando:
    """A glissando drawn as a line between two heads."""

    start: Event
    stop: Event
    heads: tuple[Head, Head]
    setting: Mapping[Letter, Position]
    """What the line sounds: the letters that it passes, each with its position."""
    free: Mapping[Letter, Fraction]
    """For the same letters when their pedal may move again: score time, quarters."""
    given: Setting | None
    """All pedals as the source prints them for the line, if it does."""

    @property
    def notes(self) -> tuple[str, str]:
        """Ids of the two heads."""
        return self.heads[0].id, self.heads[1].id

    def span(self, part: HarpPart, moments: Moments, graces: Mapping[str, int]) -> tuple[int, int]:
        """The moments at which it begins and ends; ``graces`` as from ``number_graces``."""
        first = moments.index(place_of(part, self.start, graces))
        return first, max(first, moments.index(place_of(part, self.stop, graces)))

    def held_to(
        self, letter: Letter, part: HarpPart, moments: Moments, span: tuple[int, int]
    ) -> int:
        """The last moment of its ``span`` at which the pedal must stand as the line wants it.

        A letter that is not passed, with a string for the first note, is free right after that.
        """
        first, at = span
        free = self.free.get(letter, self.start.onset)
        while at > first and part.onset_of(moments.places[at]) >= free:
            at -= 1
        return at


def held_by(
    lines: Iterable[Glissando], part: HarpPart, moments: Moments, graces: Mapping[str, int]
) -> dict[int, frozenset[Letter]]:
    """For each moment within a line the letters that still have strings to come in it."""
    found: dict[int, frozenset[Letter]] = {}
    for line in lines:
        span = line.span(part, moments, graces)
        for letter in line.setting:
            for moment in range(span[0] + 1, line.held_to(letter, part, moments, span) + 1):
                found[moment] = found.get(moment, frozenset()) | {letter}
    return found


def find_glissandi(part: HarpPart, keys: Keys, graces: Mapping[str, int]) -> list[Glissando]:
    """Every glissando line with the setting that it sounds.

    A full diagram of the source in its bar, at the start or before it, gives it, and what is
    printed after the diagram moves single letters. It holds for the whole run: for each glissando
    that begins fewer than four bars after the one before it ends, in the same key signature.
    Otherwise the letters that the line passes stand as the heads at its ends want them, else as an
    accidental earlier in the bar has them, else as in the key signature.
    """
    lines: list[Glissando] = []
    struck = [event for event in part.events if is_struck(event)]
    drawn = list(glissando_lines(struck))
    given = _given(part, struck, [(one[0], other[0]) for one, other in drawn], keys, graces)
    starts: dict[str, list[tuple[Event, Head]]] = {}
    for begin, (_, last) in drawn:
        starts.setdefault(last.id, []).append(begin)
    altered: dict[Letter, int] = {}
    bar = -1
    for event in struck:
        if event.bar != bar:
            altered, bar = {}, event.bar
        for head in event.heads:
            altered[head.pitch.letter] = head.pitch.alter
            for start, first in starts.get(head.id, ()):
                fallback = keys.setting(start.onset, start.staff)
                within = altered if start.bar == event.bar else {}
                heads = (first, head)
                setting = given.get(start.id)
                sounds = _sounds(heads, setting, fallback, within)
                free = _free(start, event, heads)
                if setting is not None:
                    _leave_last_note(heads, setting, sounds, free, event.onset - start.onset)
                    for letter, onset in _moved_in_last_beat(part, start, event, sounds):
                        free[letter] = min(free[letter], onset)
                lines.append(Glissando(start, event, heads, sounds, free, setting))
    return lines


def _given(
    part: HarpPart,
    struck: list[Event],
    lines: list[tuple[Event, Event]],
    keys: Keys,
    graces: Mapping[str, int],
) -> dict[str, Setting]:
    """The source's setting at the start of each line that has one, by the start's event.

    In a run the marks and the notes between the glissandi move single letters of the diagram.
    """
    if not lines or not any(mark.setting() is not None for mark in part.source_marks):
        return {}
    stops: dict[str, int] = {}
    for start, stop in lines:
        stops[start.id] = max(stop.bar, stops.get(start.id, 0))
    found: dict[str, Setting] = {}
    standing: Setting | None = None
    printed, run, since = -1, -1, Fraction(0)
    marks = sorted(part.source_marks, key=lambda mark: (mark.onset, mark.setting() is not None))
    turn = 0
    for event in struck:
        while turn < len(marks) and marks[turn].onset <= event.onset:
            mark = marks[turn]
            turn += 1
            whole = mark.setting()
            if whole is not None:
                standing, printed, run, since = whole, mark.bar, -1, mark.onset
            elif standing is not None:
                for letter, position in _moves(mark):
                    standing = standing.moved(letter, position)
        if standing is None:
            continue
        # Grace notes before a bar stand in it.
        bar = place_of(part, event, graces).bar
        one, other = part.bars[bar], part.bars[max(run, printed)]
        signature = keys.setting(since, event.staff)
        in_run = run >= 0 and bar - run < RUN_BARS and one.movement == other.movement
        in_run = in_run and keys.setting(event.onset, event.staff) == signature
        if event.id in stops and (bar == printed or in_run):
            if bar != printed:
                standing = _with_notes(standing, event)
            found[event.id] = standing
            run = max(run, stops[event.id])
        elif run >= 0 and bar != printed:
            standing = _with_notes(standing, event)
    return found


def _moves(mark: SourceMark) -> Iterator[tuple[Letter, Position]]:
    for name, alter in mark.pedals:
        if alter in (-1, 0, 1):
            yield Letter(name), Position(alter)


def _with_notes(setting: Setting, event: Event) -> Setting:
    """The setting as an event needs it: a note that it does not sound moves its letter."""
    for head in event.heads:
        strings = strings_for(head.pitch)
        if strings and all(setting[one.letter] is not one.position for one in strings):
            setting = setting.moved(strings[0].letter, strings[0].position)
    return setting


def _sounds(
    heads: tuple[Head, Head],
    given: Setting | None,
    key: Setting,
    altered: Mapping[Letter, int],
) -> dict[Letter, Position]:
    low, high = sorted(_step(head.pitch) for head in heads)
    passed = {Letter(_SCALE[step % 7]) for step in range(low, high + 1)}
    setting: dict[Letter, Position] = {}
    for letter in LETTERS:
        if letter not in passed:
            continue
        if given is not None:
            setting[letter] = given[letter]
            continue
        alter = altered.get(letter, int(key[letter]))
        for head in reversed(heads):
            if head.pitch.letter is letter:
                alter = head.pitch.alter
        setting[letter] = Position(max(-1, min(1, alter)))
    return setting


def _free(start: Event, stop: Event, heads: tuple[Head, Head]) -> dict[Letter, Fraction]:
    """When each letter's pedal may move: as the string after its last one is played."""
    first, last = (_step(head.pitch) for head in heads)
    count = abs(last - first)
    length = stop.onset - start.onset
    way = 1 if last > first else -1
    found: dict[Letter, Fraction] = {}
    for number in range(count + 1):
        letter = Letter(_SCALE[(first + way * number) % 7])
        # Among grace notes, which have no length, none is free before the end.
        share = Fraction(number + 1, count) if length and count else Fraction(1)
        found[letter] = start.onset + (length or 1) * share
    return found


def _leave_last_note(
    heads: tuple[Head, Head],
    given: Setting,
    sounds: dict[Letter, Position],
    free: dict[Letter, Fraction],
    length: Fraction,
) -> None:
    """A last note that is written otherwise than the diagram has it is played by its own sign."""
    letter, alter = heads[1].pitch.letter, heads[1].pitch.alter
    if int(given[letter]) == alter:
        return
    count = abs(_step(heads[1].pitch) - _step(heads[0].pitch))
    if count < len(LETTERS):
        del sounds[letter], free[letter]
    else:
        free[letter] -= length * Fraction(len(LETTERS), count)


def _moved_in_last_beat(
    part: HarpPart, start: Event, stop: Event, sounds: Mapping[Letter, Position]
) -> Iterator[tuple[Letter, Fraction]]:
    """What the source moves in the line's last beat: the strings that follow sound as moved."""
    for mark in part.source_marks:
        begin = stop.onset - part.bars[mark.bar].time.beat
        is_within = begin <= mark.onset < stop.onset and start.onset < mark.onset
        if is_within and mark.setting() is None:
            for letter, position in _moves(mark):
                if letter in sounds and sounds[letter] is not position:
                    yield letter, mark.onset


def _step(pitch: Pitch) -> int:
    return pitch.octave * 7 + _SCALE.index(pitch.letter.value)
