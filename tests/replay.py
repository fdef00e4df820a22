"""Plays a part from its printed marks alone, and says what would sound wrong.

Written without the planner's code: bars are unfolded here by a small interpreter of its own, the
pedals are moved only by what is printed, and every note is compared with what is written.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from fractions import Fraction
from itertools import pairwise

from pedalsetter.analysis.instrument.harp import Foot, Harp, Letter, Position
from pedalsetter.analysis.marks.marking import Markings, Reason
from pedalsetter.analysis.part import Bar, Event, HarpPart, JumpKind
from pedalsetter.analysis.pedal_plan import Change, PedalPlan, Severity


def replay(
    part: HarpPart,
    plan: PedalPlan,
    marks: Markings,
    harp: Harp | None = None,
    *,
    key_opens: bool = False,
) -> list[str]:
    """Return every fault that a player would meet who obeys the printed marks on every pass.

    A fault: a note that does not sound as written on its string, a note without a string that no
    finding names, a diagram that contradicts the letters before it, two pedals of one foot at one
    place, a pedal that moves while a glissando has strings of its letter to come, other than where
    the source moves it in the line's last beat. With ``key_opens`` the player sets the pedals by
    the key signature before a movement begins, as where no diagram opens it.
    """
    return _Player(part, plan, marks, harp or Harp(), key_opens).play()


class _Player:
    def __init__(
        self, part: HarpPart, plan: PedalPlan, marks: Markings, harp: Harp, key_opens: bool
    ) -> None:
        self.part, self.plan, self.marks, self.harp = part, plan, marks, harp
        self.key_opens = key_opens
        self.faults: list[str] = []
        self.pedals: dict[Letter, Position] = {}
        self.excused = {
            note
            for finding in plan.findings
            if finding.severity is Severity.UNPLAYABLE
            for note in finding.notes
        }
        self.sections = {section.bar for section in part.sections}
        self.by_bar: dict[int, list[tuple[Fraction, int, int, object]]] = {}
        graces = _grace_numbers(part)
        for diagram in marks.diagrams:
            self._file(diagram.place.bar, diagram.place.offset, diagram.place.grace, 0, diagram)
        for mark in marks.changes:
            self._file(mark.place.bar, mark.place.offset, mark.place.grace, 1, mark)
        for event in part.events:
            if event.heads and not event.cue and event.visible:
                offset = event.onset - part.bars[event.bar].start
                self._file(event.bar, offset, graces.get(event.id, 0), 2, event)
        for entries in self.by_bar.values():
            entries.sort(key=lambda one: one[:3])
        self.tunings: dict[tuple[int, str], Position] = {}
        self.tied: set[tuple[Letter, int, int]] = set()
        self.events = {event.id: event for event in part.events}
        self.heads = {head.id: head for _, head in part.notes()}
        silent = {use.note for use in plan.strings.values() if use.sounding is None}
        self.lines = {
            (first, last)
            for first, last, heads in _glissando_lines(part)
            if not silent & set(heads)
        }

    def _file(self, bar: int, offset: Fraction, grace: int, kind: int, what: object) -> None:
        self.by_bar.setdefault(bar, []).append((offset, grace, kind, what))

    def play(self) -> list[str]:
        self._check_feet()
        movement, before = None, -1
        sliding: set[tuple[str, str]] = set()
        for index in unfold(self.part):
            bar = self.part.bars[index]
            if bar.movement != movement:
                movement = bar.movement
                self.pedals = self._signature(bar) if self.key_opens else {}
            if index != before + 1:
                # A line that leads on to the next printed bar is not played at a turn.
                sliding = set()
            before = index
            for _, _, kind, what in self.by_bar.get(index, ()):
                if kind == 0:
                    onset = bar.start + what.place.offset  # type: ignore[attr-defined]
                    self._diagram(bar, what, self._swept(sliding, onset))
                elif kind == 1:
                    for change in what.changes:  # type: ignore[attr-defined]
                        told = what.reason is Reason.CAUTIONARY  # type: ignore[attr-defined]
                        if told and self.pedals[change.letter] is not change.new:
                            self._fault(bar, f"{change.text} is told, and was not so before")
                        onset = bar.start + change.place.offset
                        if change.letter in self._swept(sliding, onset):
                            self._fault(bar, f"{change.text} moves during a glissando")
                        self.pedals[change.letter] = change.new
                else:
                    assert isinstance(what, Event)
                    self._strike(bar, what)
                    sliding |= {line for line in self.lines if line[0] == what.id}
                    sliding = {line for line in sliding if line[1] != what.id}
        return self.faults

    def _swept(self, sliding: set[tuple[str, str]], onset: Fraction) -> set[Letter]:
        """Letters of the strings that lines have to come; the last note is played for itself."""
        found: set[Letter] = set()
        for first, last, heads in _glissando_lines(self.part):
            if (first, last) not in sliding:
                continue
            begin, end = (self.events[one].onset for one in (first, last))
            low, high = (
                7 * head.pitch.octave + "CDEFGAB".index(head.pitch.letter.value)
                for head in (self.heads[one] for one in heads)
            )
            step = 1 if high > low else -1
            coming = {
                Letter("CDEFGAB"[string % 7])
                for number, string in enumerate(range(low, high, step))
                if begin + (end - begin) * Fraction(number, abs(high - low)) >= onset
            }
            for mark in self.part.source_marks:
                beat = self.part.bars[mark.bar].time.beat
                if max(end - beat, begin) <= mark.onset <= onset < end and len(mark.pedals) < 7:
                    coming -= {Letter(name) for name, _ in mark.pedals}
            found |= coming
        return found

    def _fault(self, bar: Bar, what: str) -> None:
        self.faults.append(f"bar {bar.number}: {what}")

    def _signature(self, bar: Bar) -> dict[Letter, Position]:
        """The pedals as the key signature of a bar has them."""
        keys = [key for key in self.part.keys if key.onset <= bar.start and key.staff in (None, 1)]
        fifths = max(keys, key=lambda key: key.onset).fifths if keys else 0
        signed = "FCGDAEB"[:fifths] if fifths > 0 else "BEADGCF"[:-fifths]
        sign = Position.SHARP if fifths > 0 else Position.FLAT
        return {letter: sign if letter.value in signed else Position.NATURAL for letter in Letter}

    def _check_feet(self) -> None:
        moving: dict[tuple[int, Fraction, int, Foot], list[str]] = {}
        free = {
            ((change.place.bar, change.place.offset, change.place.grace), change.letter): change
            for change in self.plan.changes
            if change.together is not None or change.foot is not change.letter.foot
        }
        printed: list[tuple[tuple[int, Fraction, int], Letter]] = []
        for diagram in self.marks.diagrams:
            place = (diagram.place.bar, diagram.place.offset, diagram.place.grace)
            printed += [(place, letter) for letter in diagram.changed]
        for mark in self.marks.changes:
            if mark.reason in (Reason.START, Reason.CAUTIONARY):
                continue  # set before the music begins, or only told
            place = (mark.place.bar, mark.place.offset, mark.place.grace)
            printed += [(place, change.letter) for change in mark.changes]
        for place, letter in printed:
            made = free.get((place, letter))
            moving.setdefault((*place, made.foot if made else letter.foot), []).append(letter.value)
        for (bar, offset, grace, foot), letters in moving.items():
            both = [free.get(((bar, offset, grace), Letter(letter))) for letter in letters]
            if len(letters) == 2 and all(both) and _fits(*both):
                continue
            at_once = [one for one in both if one and not one.seconds_since_same_foot]
            if not offset and bar in self.sections and len(at_once) <= 1:
                # All of them are read in the diagram of a section, and set one after the other.
                continue
            if len(letters) > 1:
                self.faults.append(
                    f"bar index {bar} at {offset}: {foot.value} foot moves {letters}"
                )
        told = 0
        for diagram in self.marks.diagrams:
            here = {one.letter for one in self.plan.changes if one.place == diagram.place}
            told += len(set(diagram.changed) - here)
        silent = self._after_last_notes(set(printed))
        if len(printed) - told != len(self.plan.changes) - len(silent):
            self.faults.append(f"{len(self.plan.changes)} changes, {len(printed)} printed")

    def _after_last_notes(
        self, printed: Set[tuple[tuple[int, Fraction, int], Letter]]
    ) -> list[Change]:
        """Changes without a mark of their own: every bar played next begins with a ring for it."""
        found = []
        rings = {
            (diagram.place.bar, letter)
            for diagram in self.marks.diagrams
            if not diagram.place.offset
            for letter in diagram.changed
        }
        order = list(unfold(self.part))
        for change in self.plan.changes:
            place = (change.place.bar, change.place.offset, change.place.grace)
            if (place, change.letter) in printed:
                continue
            after = {later for now, later in pairwise(order) if now == change.place.bar}
            if not all((bar, change.letter) in rings for bar in after):
                self.faults.append(f"{change.text} of bar index {change.place.bar} is not printed")
            found.append(change)
        return found

    def _diagram(self, bar: Bar, diagram: object, swept: set[Letter]) -> None:
        setting = dict(diagram.setting)  # type: ignore[attr-defined]
        changed = diagram.changed  # type: ignore[attr-defined]
        if self.pedals:
            for letter, position in setting.items():
                if letter not in changed and self.pedals[letter] is not position:
                    self._fault(
                        bar,
                        f"the diagram says {letter.value}{position.sign}, the pedals stand at "
                        f"{letter.value}{self.pedals[letter].sign}",
                    )
        if swept & set(changed):
            self._fault(bar, "a ringed pedal moves during a glissando")
        self.pedals = setting

    def _strike(self, bar: Bar, event: Event) -> None:
        if not self.pedals:
            self._fault(bar, f"{event.id} is struck before any setting is printed")
            return
        for head in event.heads:
            key = (head.pitch.letter, head.pitch.alter, head.pitch.octave)
            if head.tie_stop and key in self.tied:
                if not head.tie_start:
                    self.tied.discard(key)
                continue
            if head.tie_start:
                self.tied.add(key)
            use = self.plan.strings.get(head.id)
            if use is None:
                if not head.tie_stop:
                    self._fault(bar, f"{head.id} {head.pitch} has no entry among the strings")
                continue
            if use.sounding is None:
                if head.id not in self.excused:
                    self._fault(bar, f"{head.id} {head.pitch} is silent without a finding")
                continue
            string = use.sounding.string
            if not self.harp.has(string):
                self._fault(bar, f"{head.id}: the harp has no string {string}")
                continue
            position = self.pedals[string.letter]
            if not self.harp.works_by_pedal(string):
                position = self.tunings.setdefault(
                    (bar.movement, str(string)), use.sounding.position
                )
            wanted = head.pitch.midi - (12 if event.harmonic_printed_at_sound else 0)
            if string.midi(position) != wanted:
                self._fault(
                    bar,
                    f"{head.id} {head.pitch} is played on {string} with {string.letter.value}"
                    f"{position.sign}",
                )


def _grace_numbers(part: HarpPart) -> Mapping[str, int]:
    numbers: dict[str, int] = {}
    following: dict[tuple[int, Fraction, int, str], int] = {}
    for event in reversed(part.events):
        if event.grace is not None:
            key = (event.bar, event.onset, event.staff, event.voice)
            following[key] = following.get(key, 0) - 1
            numbers[event.id] = following[key]
    return numbers


def _fits(one: Change, other: Change) -> bool:
    """Two pedals that one foot can move at once: neighbours, from one position to one other."""
    return (
        {one.letter.value, other.letter.value}
        in [set(pair) for pair in ("DC", "CB", "EF", "FG", "GA")]
        and (one.together, other.together) == (other.letter, one.letter)
        and (one.old, one.new) == (other.old, other.new)
        and one.foot is one.letter.foot
    )


def _glissando_lines(part: HarpPart) -> list[tuple[str, str, tuple[str, str]]]:
    """Events between which a line is drawn, with the two heads; a line without an end is none."""
    waiting: dict[tuple[str, int], tuple[str, str]] = {}
    lines: list[tuple[str, str, tuple[str, str]]] = []
    for event, head in part.notes():
        for end in sorted(head.spanners, key=lambda end: end.start):
            if end.kind not in ("glissando", "slide") or event.cue or not event.visible:
                continue
            if end.start:
                waiting[end.kind, end.number] = (event.id, head.id)
            elif (end.kind, end.number) in waiting:
                first, start = waiting.pop((end.kind, end.number))
                lines.append((first, event.id, (start, head.id)))
    return lines


def unfold(part: HarpPart) -> Iterator[int]:
    """Bar indices in the order of playing: repeats, endings, then one jump and its return."""
    start = 0
    while start < len(part.bars):
        stop = start
        while stop < len(part.bars) and part.bars[stop].movement == part.bars[start].movement:
            stop += 1
        yield from _unfold_movement(part, start, stop)
        start = stop


def _unfold_movement(part: HarpPart, start: int, stop: int) -> Iterator[int]:
    jumps = [jump for jump in part.jumps if start <= jump.bar < stop]
    back = next((j for j in jumps if j.kind in (JumpKind.DA_CAPO, JumpKind.DAL_SEGNO)), None)
    if back is not None and back.kind is JumpKind.DAL_SEGNO:
        signs = [j.bar for j in jumps if j.kind is JumpKind.SEGNO and j.bar <= back.bar]
        if not signs:
            back = None
    if back is None:
        yield from _with_repeats(part.bars[start:stop])
        return
    yield from _with_repeats(part.bars[start : back.bar + 1])
    begin = start if back.kind is JumpKind.DA_CAPO else max(signs)
    fine = next((j.bar for j in jumps if j.kind is JumpKind.FINE and j.bar >= begin), None)
    leave = next((j.bar for j in jumps if j.kind is JumpKind.TO_CODA and j.bar >= begin), None)
    coda = next((j.bar for j in jumps if j.kind is JumpKind.CODA and j.bar > back.bar), None)
    if back.al_coda:
        fine = None
    if back.al_fine:
        leave = None
    for index in range(begin, stop):
        if not _skipped_at_last(part.bars, index):
            yield index
        if index == fine:
            return
        if index == leave and coda is not None:
            yield from _with_repeats(part.bars[coda:stop])
            return


def _skipped_at_last(bars: tuple[Bar, ...], index: int) -> bool:
    """Whether a bar stands under a bracket that is not the last of its group."""
    bar = bars[index]
    if bar.ending is None:
        return False
    ahead = index
    highest = max(bar.ending.numbers)
    while ahead + 1 < len(bars):
        ahead += 1
        ending = bars[ahead].ending
        if ending is None or min(ending.numbers) < highest:
            break
        highest = max(ending.numbers)
    return max(bar.ending.numbers) < highest


def _with_repeats(bars: tuple[Bar, ...]) -> Iterator[int]:
    """Sections one after the other: body as often as told, each pass with its bracket."""
    place = begin = 0
    while place < len(bars):
        if bars[place].repeat_start:
            begin = place
        if bars[place].ending is None and not bars[place].repeat_times:
            place += 1
            continue
        body = begin
        while body <= place and bars[body].ending is None:
            body += 1
        tail = place
        while (
            bars[place].ending is not None
            and tail + 1 < len(bars)
            and bars[tail + 1].ending is not None
            and not (bars[tail + 1].ending.starts and 1 in bars[tail + 1].ending.numbers)
        ):
            tail += 1
        brackets = bars[body : tail + 1]
        passes = max(
            [bar.repeat_times for bar in bars[begin : tail + 1]]
            + [number for bar in brackets if bar.ending for number in bar.ending.numbers]
        )
        yield from (bar.index for bar in bars[:begin])
        for number in range(1, passes + 1):
            yield from (bar.index for bar in bars[begin:body])
            yield from (
                bar.index for bar in brackets if bar.ending and number in bar.ending.numbers
            )
        bars = bars[tail + 1 :]
        place = begin = 0
    yield from (bar.index for bar in bars)
