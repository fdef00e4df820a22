"""Source marks and planned marks in one edition: keep, complete, replace.

The source's marks are never changed. What an edition adds to them is flagged as editorial, so that
it is printed in brackets and told in the critical report. The replay of the collation shows what is
needed: a change is added where a note does not come out, as late as the feet allow, or where the
plan makes it anyway.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from pedalsetter.analysis.collation import (
    Collation,
    collate,
    glissando_diagrams,
    is_pedalled,
)
from pedalsetter.analysis.collation.replay import Fault, replay_marks
from pedalsetter.analysis.collation.score_walk import Walk, lay_walk
from pedalsetter.analysis.harp import LETTERS, Foot, Harp, Letter, Position, Setting
from pedalsetter.analysis.marking import ChangeMark, Diagram, Markings, Origin, Reason
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.pedal_plan import Change, MovementPlan, PedalPlan, StringUse
from pedalsetter.analysis.respelling import strings_for
from pedalsetter.analysis.source_policy import SourceMarks

__all__ = ["Edition", "edit_marks", "merge_marks", "with_given_diagrams"]


@dataclass(frozen=True, slots=True)
class Edition:
    """The marks to print, with the plan and the collation that go with them."""

    markings: Markings
    plan: PedalPlan
    """The plan as the marks give it: their changes, and the strings that they make sound."""
    collation: Collation
    """Of the source, before anything was added."""
    remaining: Collation
    """Of what is printed: what the source contradicts and no addition can mend."""
    mode: SourceMarks = SourceMarks.REPLACE
    is_planned: bool = True
    """Whether the marks are the plan's; otherwise they are the source's, with additions if any."""


def merge_marks(part: HarpPart, plan: PedalPlan, markings: Markings, mode: SourceMarks) -> Markings:
    """The marks to print: the source's, the planned ones, or both. See :func:`edit_marks`."""
    return edit_marks(part, plan, markings, mode).markings


def edit_marks(
    part: HarpPart,
    plan: PedalPlan,
    markings: Markings,
    mode: SourceMarks,
    harp: Harp = Harp(),  # noqa: B008 - frozen
) -> Edition:
    """Bring the source's marks and the planned ``markings`` together.

    A source that is not pedalled (it has no marks, or diagrams for its glissandi alone) gets all
    planned marks in every mode: there is nothing that they could contradict or add to, so that
    they stand without brackets. What the source itself contradicts stays so and is in
    ``remaining``. Planned diagrams that stand in the source already, for a glissando, have the
    source as their origin.
    """
    collation = collate(part, plan, harp)
    if mode is SourceMarks.REPLACE or not is_pedalled(part):
        given = with_given_diagrams(part, plan, markings)
        return Edition(given, plan, collation, Collation((), 0, 0, ""), mode)
    marks = list(part.source_marks)
    if mode is SourceMarks.COMPLETE:
        added = _additions(part, plan, harp)
        whole = {(mark.bar, mark.onset) for mark in added if mark.kind == "diagram"}
        # The whole setting beside a diagram that is none says what it says.
        marks = [
            mark
            for mark in marks
            if mark.kind != "diagram"
            or mark.setting() is not None
            or (mark.bar, mark.onset) not in whole
        ]
        marks += added
    edited = replace(part, source_marks=_in_order(marks))
    walk = lay_walk(edited, plan, harp)
    merged = _Printer(edited, plan, walk).markings()
    return Edition(
        merged,
        _plan_as_marked(edited, plan, merged, walk),
        collation,
        collate(edited, plan, harp),
        mode,
        is_planned=False,
    )


def with_given_diagrams(part: HarpPart, plan: PedalPlan, markings: Markings) -> Markings:
    """The planned marks, those of the source's diagrams for glissandi among them as its own.

    Such a diagram is printed also where the plan alone would have left it out as nothing new.
    """
    names = glissando_diagrams(part)
    if not names:
        return markings
    diagrams = list(markings.diagrams)
    for mark in part.source_marks:
        if mark.id not in names:
            continue
        place = Place(mark.bar, mark.onset - part.bars[mark.bar].start)
        setting = mark.setting()
        known = [
            number
            for number, each in enumerate(diagrams)
            if each.place.bar == mark.bar
            and each.setting == setting
            and (
                part.onset_of(each.place) == mark.onset
                or (place < each.place and each.reason is Reason.GLISSANDO)
            )
        ]
        for number in known:
            diagrams[number] = replace(diagrams[number], origin=Origin.SOURCE)
        taken = any(each.place == place for each in diagrams)
        if not known and not taken and setting is not None and plan.setting_at(place) == setting:
            moved = tuple(each.letter for each in plan.changes if each.place == place)
            diagrams.append(Diagram(place, setting, moved, Reason.GLISSANDO, Origin.SOURCE))
    shown = {diagram.place for diagram in diagrams}
    return Markings(
        tuple(sorted(diagrams, key=lambda each: each.place)),
        tuple(mark for mark in markings.changes if mark.place not in shown),
    )


_ADDED = "added-"
"""Begins the ids of marks that are not in the source."""

_MOST_ROUNDS = 6


def _in_order(marks: Iterable[SourceMark]) -> tuple[SourceMark, ...]:
    """By place; at one place diagrams first, additions last."""
    return tuple(
        sorted(
            marks,
            key=lambda mark: (
                mark.onset,
                mark.bar,
                mark.id.startswith(_ADDED),
                mark.kind != "diagram",
            ),
        )
    )


def _additions(part: HarpPart, plan: PedalPlan, harp: Harp) -> list[SourceMark]:
    """Marks that make every note come out, given those of the source.

    A letter before the very note that needs it helps on every pass, so that each round leaves
    fewer faults; those that stay are the source's own contradictions.
    """
    added = _missing_openings(part, plan, harp)
    added += _whole_diagrams(part, plan, {(mark.bar, mark.onset) for mark in added})
    hopeless: set[tuple[Place, Letter]] = set()
    for _ in range(_MOST_ROUNDS):
        edited = replace(part, source_marks=_in_order((*part.source_marks, *added)))
        walk = lay_walk(edited, plan, harp)
        faults = replay_marks(walk).faults
        new = 0
        wanted: dict[tuple[Place, Letter, Position], Fault] = {}
        for fault in faults:
            wanted.setdefault((fault.item.place, fault.letter, fault.position), fault)
        for (place, letter, position), fault in wanted.items():
            if (place, letter) in hopeless:
                continue
            chosen = _place_for(fault, edited, plan, walk, added)
            if chosen is None:
                hopeless.add((place, letter))
                continue
            added.append(_letter(edited, chosen, letter, position, len(added)))
            new += 1
        if not new:
            break
    return added


def _missing_openings(part: HarpPart, plan: PedalPlan, harp: Harp) -> list[SourceMark]:
    """A diagram for each movement that begins without one, agreeing with the marks that follow."""
    walk = lay_walk(part, plan, harp)
    found = []
    for item, missing in replay_marks(walk).openings:
        movement = next(each for each in plan.movements if each.movement == item.movement)
        setting = movement.opening
        begin = next(each.index for each in walk.items if each.movement == item.movement)
        for letter in LETTERS:
            need = walk.next_need(letter, begin)
            move = walk.next_move(letter, begin - 1)
            if move is not None and (need is None or move[0] <= need[0]):
                # The source moves it before any note needs it: it may open as it will stand.
                setting = setting.moved(letter, move[1].position)
            elif need is not None:
                setting = setting.moved(letter, need[1])
        bar = part.bars[movement.first_bar]
        pedals = tuple((letter.value, int(position)) for letter, position in setting)
        name = f"{_ADDED}opening-{movement.movement}"
        if missing:
            found.append(SourceMark(name, bar.index, bar.start, None, "diagram", pedals))
    return found


def _whole_diagrams(
    part: HarpPart, plan: PedalPlan, given: set[tuple[int, Fraction]]
) -> list[SourceMark]:
    """A whole setting for each diagram of the source that leaves some pedals unsaid.

    What it names stays; the rest stands as planned.
    """
    found = []
    for mark in part.source_marks:
        named = {
            Letter(name): Position(alter) for name, alter in mark.pedals if alter in (-1, 0, 1)
        }
        if mark.kind != "diagram" or mark.setting() is not None or len(named) < _MOST_OF_A_DIAGRAM:
            continue
        if (mark.bar, mark.onset) in given:
            continue
        setting = plan.setting_at(Place(mark.bar, mark.onset - part.bars[mark.bar].start))
        pedals = tuple(
            (letter.value, int(named.get(letter, position))) for letter, position in setting
        )
        name = f"{_ADDED}whole-{mark.id}"
        found.append(SourceMark(name, mark.bar, mark.onset, mark.staff, "diagram", pedals))
    return found


_MOST_OF_A_DIAGRAM = 4
"""What names fewer pedals is taken for changes rather than for a setting."""


def _letter(
    part: HarpPart, place: Place, letter: Letter, position: Position, number: int
) -> SourceMark:
    onset = part.bars[place.bar].start + place.offset
    text = f"{letter.value}{position.sign}"
    pedals = ((letter.value, int(position)),)
    return SourceMark(f"{_ADDED}{number}", place.bar, onset, None, "letters", pedals, text)


def _place_for(
    fault: Fault, part: HarpPart, plan: PedalPlan, walk: Walk, added: Sequence[SourceMark]
) -> Place | None:
    """Where a missing change is printed: where the plan has it, else as late as a foot is free.

    None if every moment since the last note that needs the old position is taken by a mark of the
    same letter or the same foot.
    """
    foot = fault.letter.foot
    taken = {
        (mark.bar, mark.onset)
        for mark in (*part.source_marks, *added)
        if mark.kind != "diagram"
        for name, _ in mark.pedals
        if Letter(name).foot is foot
    }
    moments: list[Place] = []
    for index in range(fault.item.index, fault.since, -1):
        item = walk.items[index]
        if item.run != fault.item.run:
            break
        own = [move for move in item.moves if move.letter is fault.letter]
        if own and index != fault.item.index:
            # Before a mark of the same letter an addition would be undone by it.
            break
        onset = part.onset_of(item.place)
        if own or item.sliding or item.place.grace or (item.place.bar, onset) in taken:
            continue
        moments.append(item.place)
    if not moments:
        return None
    planned = {
        change.place
        for change in plan.changes
        if change.letter is fault.letter and change.new is fault.position
    }
    return next((place for place in moments if place in planned), moments[0])


class _Printer:
    """Marks of a source, additions among them, as marks to print."""

    def __init__(self, part: HarpPart, plan: PedalPlan, walk: Walk) -> None:
        self.part, self.plan, self.walk = part, plan, walk
        self.starts = {movement.first_bar for movement in plan.movements}
        self.sections = {section.bar for section in part.sections}
        self.places: dict[tuple[str, Letter], Place] = {}
        self.before: dict[tuple[str, Letter], Position] = {}
        pedals: dict[Letter, Position] = {}
        movement = -1
        for item in walk.items:
            if item.movement != movement:
                movement, pedals = item.movement, {}
            for move in item.moves:
                self.places.setdefault(move.key, move.place)
                if move.letter in pedals:
                    old = pedals[move.letter]
                    if old is not move.position or move.key not in self.before:
                        self.before[move.key] = old
                pedals[move.letter] = move.position

    def markings(self) -> Markings:
        """All diagrams and letters by place; what stands at one place is one mark.

        A source may print the same mark on both staves: that is one mark too. Of two diagrams at
        one place that contradict each other the later one is printed, as a player would end.
        """
        diagrams: dict[Place, Diagram] = {}
        stacks: dict[Place, list[Change]] = {}
        added_at: dict[Place, list[Letter]] = {}
        for mark in self.part.source_marks:
            added = mark.id.startswith(_ADDED)
            setting = mark.setting()
            if setting is not None:
                place = min(self._place(mark, letter) for letter in LETTERS)
                diagrams[place] = self._diagram(mark, place, setting, added)
                continue
            for name, alter in mark.pedals:
                if alter not in (-1, 0, 1):
                    continue
                letter, position = Letter(name), Position(alter)
                place = self._place(mark, letter)
                stack = stacks.setdefault(place, [])
                if any(known.letter is letter and known.new is position for known in stack):
                    continue
                stack.append(self._change(mark, place, letter, position))
                if added:
                    added_at.setdefault(place, []).append(letter)
        marks = tuple(
            ChangeMark(
                place,
                tuple(sorted(changes, key=_right_foot_above_left)),
                Reason.CHANGE,
                Origin.PLANNED if len(added_at.get(place, ())) == len(changes) else Origin.SOURCE,
                added=tuple(added_at.get(place, ())),
            )
            for place, changes in sorted(stacks.items(), key=lambda one: one[0])
        )
        return Markings(tuple(diagrams[place] for place in sorted(diagrams)), marks)

    def _place(self, mark: SourceMark, letter: Letter) -> Place:
        """Where the walk came upon a pedal of a mark; as written where it never did."""
        written = Place(mark.bar, mark.onset - self.part.bars[mark.bar].start)
        return self.places.get((mark.id, letter), written)

    def _diagram(self, mark: SourceMark, place: Place, setting: Setting, added: bool) -> Diagram:
        changed = tuple(
            letter
            for letter in LETTERS
            if self.before.get((mark.id, letter), setting[letter]) is not setting[letter]
        )
        reason = Reason.CAUTIONARY
        if place.bar in self.starts and not place.offset:
            reason = Reason.START
        elif place.bar in self.sections:
            reason = Reason.SECTION
        origin = Origin.PLANNED if added else Origin.SOURCE
        return Diagram(place, setting, changed, reason, origin, editorial=added)

    def _change(self, mark: SourceMark, place: Place, letter: Letter, position: Position) -> Change:
        old = self.before.get((mark.id, letter), position)
        planned = next(
            (
                change
                for change in self.plan.changes
                if change.letter is letter
                and change.new is position
                and change.needed is not None
                and place <= change.needed
                and (change.free_since is None or change.free_since < place)
            ),
            None,
        )
        why = "It is printed in the source."
        if mark.id.startswith(_ADDED):
            why = "A note further on needs it, and the source has no mark for it."
        if planned is not None:
            why = planned.why
        if planned is not None:
            return replace(
                planned,
                old=old,
                place=place,
                seconds_free=None,
                seconds_since_same_foot=None,
                why=why,
            )
        return Change(letter, old, position, letter.foot, place, None, (), None, None, None, why)


def _right_foot_above_left(change: Change) -> tuple[bool, int]:
    return change.foot is Foot.LEFT, change.letter.index


def _plan_as_marked(part: HarpPart, plan: PedalPlan, markings: Markings, walk: Walk) -> PedalPlan:
    """The plan told anew from the marks: openings, changes, and the string of each note."""
    changes = [change for mark in markings.changes for change in mark.changes]
    for diagram in markings.diagrams:
        changes += [
            Change(
                letter,
                _other(diagram.setting, letter),
                diagram.setting[letter],
                letter.foot,
                diagram.place,
                None,
                (),
                None,
                None,
                None,
                "A diagram shows it.",
            )
            for letter in diagram.changed
        ]
    openings = []
    for movement in plan.movements:
        first = next(
            (
                diagram.setting
                for diagram in markings.diagrams
                if part.bars[diagram.place.bar].movement == movement.movement
            ),
            movement.opening,
        )
        openings.append(MovementPlan(movement.movement, movement.first_bar, first))
    return replace(
        plan,
        movements=tuple(openings),
        changes=tuple(sorted(changes, key=lambda each: (each.place, each.letter.index))),
        strings=_strings(part, plan, walk),
        entries=(),
        proved_optimal=False,
    )


def _other(setting: Setting, letter: Letter) -> Position:
    """Some other position than the one that a diagram shows: where it came from is not printed."""
    return Position.NATURAL if setting[letter] is not Position.NATURAL else Position.FLAT


def _strings(part: HarpPart, plan: PedalPlan, walk: Walk) -> dict[str, StringUse]:
    """The string of each note with the pedals as marked; the plan's, where it sounds."""
    strings = dict(plan.strings)
    pitches = {head.id: (event, head) for event, head in part.notes()}
    pedals: dict[Letter, Position] = {}
    settled: set[str] = set()
    for item in walk.items:
        for move in item.moves:
            pedals[move.letter] = move.position
        for ask in item.asks:
            for note in ask.notes:
                use = strings.get(note)
                if note in settled or use is None or use.sounding is None or not ask.begins:
                    continue
                settled.add(note)
                if pedals.get(use.sounding.letter, use.sounding.position) is use.sounding.position:
                    continue
                event, head = pitches[note]
                pitch = head.pitch
                if event.harmonic_printed_at_sound:
                    pitch = replace(pitch, octave=pitch.octave - 1)
                found = next(
                    (one for one in strings_for(pitch) if pedals.get(one.letter) is one.position),
                    None,
                )
                if found is not None:
                    strings[note] = StringUse(note, use.written, found)
    return strings
