"""Rightly marked parts with one slip put into their marks, and what must be found then.

Every slip is made from the plan's own figures (where a change stands, where it is needed, since
when its pedal is free), not from anything that the collation computes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from pathlib import Path

from corpus_pieces import PIECES
from marked_parts import diagram, letters, marked, place_of, with_marks
from part_builder import build_part

from pedalsetter.analysis.collation import EntryKind
from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.instrument.respelling import strings_for
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import Event, HarpPart, Place, SourceMark
from pedalsetter.analysis.pedal_plan import Change, PedalPlan
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part

__all__ = ["BASES", "CORPUS_BASES", "SLIPS", "Base", "Slip", "base", "plan_of", "slips"]

_EXAMPLES = Path(__file__).resolve().parent.parent / "examples"

BUILT: dict[str, tuple[str, ...]] = {
    "halves": (
        "C4+D4/h C#4+D#4/h | E3/w",
        "E4+F4/h Eb4+F#4/h | C#3/w",
        "G4+A4/q r/q G#4+A#4/h | D#3/h r/h",
        "C4/q D4/q E4/q F4/q | B3/w",
        "C#4+D#4/w | Bb3/h B3/h",
        "C4+D4/w | E3/h Eb3/h",
    ),
}

BASES: tuple[str, ...] = (
    "orchestral-nocturne.musicxml",
    "evening-water.musicxml",
    "chromatic-study.musicxml",
    "three-times-round.mxl",
    "halves",
)
"""Our own examples, and one part built for two feet in a hurry."""

CORPUS_BASES: tuple[str, ...] = (
    "joplin/maple_leaf_rag.mxl",
    "schubert/Lindenbaum.xml",
    "schumann_clara/polonaise_op1n2.mxl",
)
"""Pieces of music21's corpus in the public domain."""


@dataclass(frozen=True, slots=True)
class Base:
    """A part with the right marks, and its plan."""

    part: HarpPart
    plan: PedalPlan

    def marks_of(self, change: Change) -> list[SourceMark]:
        """The letters of the source that print a change."""
        return [
            mark
            for mark in self.part.source_marks
            if mark.kind == "letters"
            and place_of(self.part, mark) == change.place
            and mark.pedals == ((change.letter.value, int(change.new)),)
        ]

    def next_change(self, change: Change) -> Place:
        """Where the letter changes again on the page; the end if it does not."""
        later = [
            other.place
            for other in self.plan.changes
            if other.letter is change.letter and other.place > change.place
        ]
        return min(later, default=Place(len(self.part.bars), Fraction(0)))

    def struck(self, after: Place, before: Place) -> list[tuple[Place, Event]]:
        """What is struck at places strictly after one place and strictly before another."""
        found = []
        for event in self.part.events:
            place = self.part.place_of(event)
            if event.heads and event.grace is None and not event.cue and after < place < before:
                found.append((place, event))
        return found

    def uses(self, event: Event, letter: Letter) -> bool:
        """Whether an event strikes a string of a letter."""
        found = (self.plan.strings.get(head.id) for head in event.heads)
        return any(
            use is not None and use.sounding is not None and use.sounding.letter is letter
            for use in found
        )

    def saved(self, change: Change, position: Position) -> bool:
        """Whether all that needs a change would sound by other strings with the pedal elsewhere."""
        assert change.needed is not None
        setting = self.plan.setting_at(change.needed).moved(change.letter, position)
        heads = {head.id: head for _, head in self.part.notes()}
        return all(
            any(setting[one.letter] is one.position for one in strings_for(heads[note].pitch))
            for note in change.needed_by
        )


@dataclass(frozen=True, slots=True)
class Slip:
    """A part with one slip, and the entry that must tell of it."""

    part: HarpPart
    kind: EntryKind
    place: Place
    letter: Letter | None
    should: str | None = None


@cache
def base(name: str) -> Base:
    """A base by its name."""
    if name in BUILT:
        part = marked(build_part(*BUILT[name], tempo=60))
    elif "/" in name:
        piece = next(each for each in PIECES if each.name == name)
        part = marked(read_part(piece.path, piece.part))
    else:
        part = marked(read_part(_EXAMPLES / name))
    return Base(part, plan_changes(part))


def _simple_changes(made: Base) -> Iterator[tuple[Change, SourceMark]]:
    """Changes that are printed as letters, that a note needs, and that are played in page order."""
    grace_onsets = {event.onset for event in made.part.events if event.grace is not None}
    for change in made.plan.changes:
        marks = made.marks_of(change)
        if len(marks) != 1 or change.needed is None or change.needed < change.place:
            continue
        if change.place.grace or change.needed.grace:
            continue
        if {marks[0].onset, made.part.onset_of(change.needed)} & grace_onsets:
            continue
        if any(
            change.place < place_of(made.part, each) <= change.needed for each in _diagrams(made)
        ):
            # The diagram would make the change.
            continue
        yield change, marks[0]


def _turns(made: Base, first: int, last: int) -> bool:
    """Whether a repeat or an ending stands in these bars, so that they are left and entered."""
    return any(
        bar.repeat_times or bar.repeat_start or bar.ending
        for bar in made.part.bars[first : last + 1]
    )


def _without(part: HarpPart, *marks: SourceMark) -> HarpPart:
    gone = {mark.id for mark in marks}
    return with_marks(part, [mark for mark in part.source_marks if mark.id not in gone])


def _instead(part: HarpPart, mark: SourceMark, new: SourceMark) -> HarpPart:
    return with_marks(_without(part, mark), [*_without(part, mark).source_marks, new])


def _also(part: HarpPart, new: SourceMark) -> HarpPart:
    return with_marks(part, [*part.source_marks, new])


def drop(made: Base) -> Iterator[Slip]:
    """A letter left out: the note that needs it has none."""
    for change, mark in _simple_changes(made):
        assert change.needed is not None
        if change.needed.bar < 2:
            # The opening may as well be blamed.
            continue
        if not made.saved(change, change.old):
            yield Slip(
                _without(made.part, mark),
                EntryKind.MISSING,
                change.needed,
                change.letter,
                change.text,
            )


def wrong_position(made: Base) -> Iterator[Slip]:
    """The right letter with a wrong sign."""
    for change, mark in _simple_changes(made):
        for position in Position:
            if position is change.new or made.saved(change, position):
                continue
            new = letters(mark.id, change.place, [(change.letter, position)], made.part)
            yield Slip(
                _instead(made.part, mark, new),
                EntryKind.WRONG,
                change.place,
                change.letter,
                change.text,
            )


def wrong_letter(made: Base) -> Iterator[Slip]:
    """The right sign on a wrong letter, one that stands right and is struck before it moves."""
    for change, mark in _simple_changes(made):
        if made.saved(change, change.old):
            continue
        setting = made.plan.setting_at(change.place)
        for letter in Letter:
            if letter is change.letter or setting[letter] is change.new:
                continue
            other = replace(change, letter=letter)
            if not any(
                made.uses(event, letter)
                for _, event in made.struck(change.place, made.next_change(other))
            ):
                continue
            new = letters(mark.id, change.place, [(letter, change.new)], made.part)
            if any(
                place_of(made.part, each) == change.place and each.id != mark.id
                for each in made.part.source_marks
            ):
                continue
            yield Slip(_instead(made.part, mark, new), EntryKind.WRONG, change.place, letter)
            break


def late(made: Base) -> Iterator[Slip]:
    """A letter at the next note after the one that needs it."""
    for change, mark in _simple_changes(made):
        assert change.needed is not None
        if made.saved(change, change.old):
            continue
        after = made.struck(change.needed, made.next_change(change))
        turn = next(
            (
                bar.index
                for bar in made.part.bars[change.needed.bar :]
                if bar.repeat_times or bar.ending
            ),
            change.needed.bar + 1,
        )
        if not after or after[0][0].bar > min(change.needed.bar + 1, turn):
            continue
        place = after[0][0]
        if made.part.bars[place.bar].movement != made.part.bars[change.place.bar].movement:
            continue
        new = letters(mark.id, place, [(change.letter, change.new)], made.part)
        yield Slip(_instead(made.part, mark, new), EntryKind.LATE, place, change.letter)


def early(made: Base) -> Iterator[Slip]:
    """A letter in front of the last note that needs the old position."""
    for change, mark in _simple_changes(made):
        since = change.free_since
        if (
            since is None
            or since.grace
            or since >= change.place
            or made.next_change(change) < (change.needed or change.place)
        ):
            continue
        event = next(
            (
                each
                for each in made.part.events
                if made.part.place_of(each) == since and made.uses(each, change.letter)
            ),
            None,
        )
        if event is None:
            continue
        others = [
            head for head in event.heads if made.uses(replace(event, heads=(head,)), change.letter)
        ]
        setting = made.plan.setting_at(since).moved(change.letter, change.new)
        if all(
            any(setting[one.letter] is one.position for one in strings_for(head.pitch))
            for head in others
        ):
            continue
        if any(
            place_of(made.part, each) == since and change.letter.value in dict(each.pedals)
            for each in made.part.source_marks
        ):
            continue
        if any(since <= place_of(made.part, each) <= change.place for each in _diagrams(made)):
            # A diagram in between says otherwise; that is another slip.
            continue
        if change.needed is None or _turns(made, since.bar, change.needed.bar):
            continue
        if made.saved(change, change.old):
            continue
        new = letters(mark.id, since, [(change.letter, change.new)], made.part)
        yield Slip(_instead(made.part, mark, new), EntryKind.EARLY, since, change.letter)


def duplicate(made: Base) -> Iterator[Slip]:
    """A letter once more, while the pedal stands there."""
    for change, _ in _simple_changes(made):
        for place, _event in made.struck(change.place, made.next_change(change)):
            if any(mark.onset == made.part.onset_of(place) for mark in made.part.source_marks):
                continue
            new = letters("again", place, [(change.letter, change.new)], made.part)
            yield Slip(_also(made.part, new), EntryKind.REDUNDANT, place, change.letter, "")
            break


def two_positions(made: Base) -> Iterator[Slip]:
    """One letter with two signs at one moment."""
    for change, _ in _simple_changes(made):
        other = next(each for each in Position if each not in (change.new, change.old))
        new = letters("other", change.place, [(change.letter, other)], made.part)
        yield Slip(
            _also(made.part, new), EntryKind.TWO_POSITIONS, change.place, change.letter, change.text
        )


def same_foot(made: Base) -> Iterator[Slip]:
    """Two letters of one foot at the note that needs both."""
    for change, mark in _simple_changes(made):
        for other, _ in _simple_changes(made):
            if other.letter is change.letter or other.foot is not change.foot:
                continue
            if other.needed != change.needed or other.place != other.needed:
                continue
            if change.place == other.place:
                continue
            new = letters(mark.id, other.place, [(change.letter, change.new)], made.part)
            yield Slip(
                _instead(made.part, mark, new), EntryKind.SAME_FOOT, other.place, change.letter
            )


def ringing(made: Base) -> Iterator[Slip]:
    """A letter at a moment at which a note on the old position is still held."""
    for change, mark in _simple_changes(made):
        since = change.free_since
        if since is None or since.grace or since >= change.place:
            continue
        held = [
            each
            for each in made.part.events
            if made.part.place_of(each) == since and made.uses(each, change.letter)
        ]
        if any(end.tie_stop or end.tie_start for each in held for end in each.heads):
            continue
        end = max((each.end for each in held), default=Fraction(0))
        for place, _ in made.struck(since, change.place):
            if made.part.onset_of(place) < end and made.part.onset_of(change.place) >= end:
                new = letters(mark.id, place, [(change.letter, change.new)], made.part)
                yield Slip(_instead(made.part, mark, new), EntryKind.RINGING, place, change.letter)
                break


def contradiction(made: Base) -> Iterator[Slip]:
    """A diagram that shows one pedal elsewhere than the letters before it left it."""
    first = {movement.first_bar for movement in made.plan.movements}
    entries = {bar for bar, _ in made.plan.entries}
    diagrams = place_marks(made.part, made.plan).diagrams
    telling = {one.place for one in diagrams if one.changed}
    for mark in made.part.source_marks:
        place = place_of(made.part, mark)
        setting = mark.setting()
        if mark.kind != "diagram" or setting is None or place.bar in first | entries:
            continue
        if any(head.spanners and event.onset == mark.onset for event, head in made.part.notes()):
            # Before a glissando the diagram says what it sounds, whatever was said before.
            continue
        if place in telling:
            # This one sets pedals itself, and might set one more.
            continue
        for letter in Letter:
            probe = Change(
                letter,
                setting[letter],
                setting[letter],
                letter.foot,
                place,
                None,
                (),
                None,
                None,
                None,
                "",
            )
            if any(each.place == place and each.letter is letter for each in made.plan.changes):
                continue
            used = [
                event
                for at, event in made.struck(
                    Place(place.bar, place.offset - 1), made.next_change(probe)
                )
                if at >= place and made.uses(event, letter)
            ]
            if not used or any(
                place < place_of(made.part, each) <= made.part.place_of(used[0])
                for each in _diagrams(made)
            ):
                continue
            wrong = next(each for each in Position if each is not setting[letter])
            after = setting.moved(letter, wrong)
            if all(
                any(after[one.letter] is one.position for one in strings_for(head.pitch))
                for head in used[0].heads
            ):
                continue
            new = diagram(mark.id, place, after, made.part)
            yield Slip(
                _instead(made.part, mark, new),
                EntryKind.CONTRADICTORY_DIAGRAM,
                place,
                letter,
                f"{letter.value}{setting[letter].sign}",
            )


def incomplete(made: Base) -> Iterator[Slip]:
    """A diagram with six pedals."""
    for number, mark in enumerate(_diagrams(made)):
        left = mark.pedals[number % 7]
        new = replace(mark, pedals=tuple(each for each in mark.pedals if each is not left))
        yield Slip(
            _instead(made.part, mark, new),
            EntryKind.INCOMPLETE_DIAGRAM,
            place_of(made.part, mark),
            Letter(left[0]),
        )


def impossible(made: Base) -> Iterator[Slip]:
    """A diagram with one pedal twice, or beyond its notches (trade fact S5)."""
    for number, mark in enumerate(_diagrams(made)):
        place = number % 7
        letter, _ = mark.pedals[place]
        if number % 2:
            pedals = (*mark.pedals[:place], (letter, 2), *mark.pedals[place + 1 :])
            told = None
        else:
            pedals = (*mark.pedals, mark.pedals[place])
            told = Letter(letter)
        new = replace(mark, pedals=pedals)
        yield Slip(
            _instead(made.part, mark, new),
            EntryKind.IMPOSSIBLE_DIAGRAM,
            place_of(made.part, mark),
            told,
        )


def no_opening(made: Base) -> Iterator[Slip]:
    """The first diagram left out, where no other one stands before the first note."""
    first, *others = _diagrams(made)
    start = min(made.part.place_of(event) for event in made.part.events if event.heads)
    if any(place_of(made.part, each) <= start for each in others):
        return
    yield Slip(
        _without(made.part, first),
        EntryKind.NO_OPENING,
        Place(0, Fraction(0)),
        None,
        str(made.plan.movements[0].opening),
    )


def wrong_opening(made: Base) -> Iterator[Slip]:
    """The first diagram with one pedal that the first bar needs elsewhere."""
    first = _diagrams(made)[0]
    setting = first.setting()
    assert setting is not None
    start = place_of(made.part, first)
    for letter in Letter:
        probe = Change(
            letter,
            setting[letter],
            setting[letter],
            letter.foot,
            start,
            None,
            (),
            None,
            None,
            None,
            "",
        )
        limit = min(made.next_change(probe), Place(start.bar + 1, Fraction(0)))
        used = [
            event
            for _, event in made.struck(Place(start.bar, Fraction(-1)), limit)
            if made.uses(event, letter)
        ]
        if not used:
            continue
        wrong = next(each for each in Position if each is not setting[letter])
        after = setting.moved(letter, wrong)
        heads = [
            head for head in used[0].heads if made.uses(replace(used[0], heads=(head,)), letter)
        ]
        if all(
            any(after[one.letter] is one.position for one in strings_for(head.pitch))
            for head in heads
        ):
            continue
        yield Slip(
            _instead(made.part, first, diagram(first.id, start, after, made.part)),
            EntryKind.WRONG,
            start,
            letter,
            f"{letter.value}{setting[letter].sign}",
        )


def some_not_all(made: Base) -> Iterator[Slip]:
    """No marks in the second half: all or none (trade fact W4)."""
    dropped = [
        (change, mark)
        for change, mark in _simple_changes(made)
        if mark.bar >= len(made.part.bars) // 2
    ]
    dropped = [each for each in dropped if not made.saved(each[0], each[0].old)]
    if 3 * len(dropped) < len(made.plan.changes) or len(dropped) < 3:
        return
    first = min(change.needed for change, _ in dropped if change.needed is not None)
    yield Slip(
        _without(made.part, *(mark for _, mark in dropped)), EntryKind.SOME_NOT_ALL, first, None
    )


def _diagrams(made: Base) -> list[SourceMark]:
    return [mark for mark in made.part.source_marks if mark.kind == "diagram"]


SLIPS: dict[str, Callable[[Base], Iterator[Slip]]] = {
    each.__name__: each
    for each in (
        drop,
        wrong_position,
        wrong_letter,
        late,
        early,
        duplicate,
        two_positions,
        same_foot,
        ringing,
        contradiction,
        incomplete,
        impossible,
        no_opening,
        wrong_opening,
        some_not_all,
    )
}


def plan_of(slip: Slip, name: str) -> PedalPlan:
    """The plan of a mutated part; marks tell the planner something only at a glissando."""
    made = base(name)
    lines = any(
        end.kind in ("glissando", "slide") for _, head in made.part.notes() for end in head.spanners
    )
    return plan_changes(slip.part) if lines else made.plan


def slips(kind: str, name: str, most: int = 12) -> list[Slip]:
    """Up to ``most`` slips of one kind, spread evenly over a base."""
    found = list(SLIPS[kind](base(name)))
    step = max(1, -(-len(found) // most))
    return found[::step]
