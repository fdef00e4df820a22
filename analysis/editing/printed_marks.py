"""Marks of a source, additions among them, as marks to print."""

from __future__ import annotations

from dataclasses import replace

from pedalsetter.analysis.collation.score_walk import Walk
from pedalsetter.analysis.editing.additions import is_added
from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter, Position, Setting
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram, Markings, Origin, Reason
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.pedal_plan import Change, PedalPlan

__all__ = ["marks_to_print"]


def marks_to_print(part: HarpPart, plan: PedalPlan, walk: Walk) -> Markings:
    """The part's source marks as they are printed; ``walk`` is the way through this very part."""
    return _Printer(part, plan, walk).markings()


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
            added = is_added(mark)
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
        written = self.part.place_of(mark)
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
        if is_added(mark):
            why = "A note further on needs it, and the source has no mark for it."
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
