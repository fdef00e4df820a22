"""Whose fault it is: the mark that is late, early, wrong or missing where a note does not sound."""

from __future__ import annotations

from collections.abc import Mapping

from pedalsetter.analysis.collation.entries import EntryKind, MarkSeverity
from pedalsetter.analysis.collation.score_walk import Move, Walk
from pedalsetter.analysis.collation.slips import Fault, Log, Pedal
from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position
from pedalsetter.analysis.part import Place

__all__ = ["Judge"]

_NEAR_BARS = 2
"""A note so few bars after an opening blames the opening, not a change between them."""


class Judge:
    """Finds the mark to blame, from the way ahead and from what is known about each pedal."""

    def __init__(self, walk: Walk, pedals: Mapping[Letter, Pedal], log: Log) -> None:
        self.walk, self.pedals, self.log = walk, pedals, log

    def blame(self, fault: Fault) -> None:
        """Tell what is to blame for a note that does not come out."""
        letter, position = fault.letter, fault.position
        pedal = self.pedals[letter]
        setter = None if pedal.used else pedal.setter
        late = self._late(fault)
        if late is not None:
            self.log.excused.add(late.key)
            self._tell(EntryKind.LATE, fault, late.place, late)
            return
        if setter is not None and pedal.before is not None:
            if self._is_early(fault, pedal):
                pedal.put_back = pedal.position
                kind = EntryKind.CONTRADICTORY_DIAGRAM if setter.is_diagram else EntryKind.EARLY
                self.log.excused.add(setter.key)
                self._tell(kind, fault, setter.place, setter)
                return
            if setter.is_diagram:
                if pedal.before is not pedal.position:
                    right = pedal.before is position
                    kind = EntryKind.CONTRADICTORY_DIAGRAM if right else EntryKind.WRONG
                    self.log.excused.add(setter.key)
                    self._tell(kind, fault, setter.place, setter)
                    return
            else:
                self.log.excused.add(setter.key)
                meant = None
                if pedal.before is position:
                    meant = self._meant_instead(setter, pedal, fault.item.index)
                self._tell_wrong(fault, setter, meant)
                return
        if setter is not None and pedal.before is None:
            # An opening that nothing needed as it stands. Far from the note a change is missing
            # rather: the opening may show the key, and the pedal is first needed elsewhere.
            near = fault.item.place.bar - setter.place.bar < _NEAR_BARS
            if near or not setter.is_diagram:
                self._tell(EntryKind.WRONG, fault, setter.place, setter)
                return
        stray = self._stray(fault)
        if stray is not None:
            move, other = stray
            self.log.excused.add(move.key)
            other.position = other.before
            self._tell_wrong(fault, move, (letter, position))
            return
        self._tell(EntryKind.MISSING, fault, fault.item.place, None)

    def _late(self, fault: Fault) -> Move | None:
        """The mark that says what is needed, but after the note."""
        found = self.walk.next_move(fault.letter, fault.item.index)
        if found is None or found[1].position is not fault.position:
            return None
        index, move = found
        there = self.walk.items[index]
        if there.run != fault.item.run or there.movement != fault.item.movement:
            return None
        if move.is_diagram and there.place.bar > fault.item.place.bar:
            return None
        other = self.walk.next_other_need(fault.letter, fault.item.index, fault.position)
        return move if other is None or other[0] >= index else None

    def _is_early(self, fault: Fault, pedal: Pedal) -> bool:
        """Whether the mark before is right, but for a note further on."""
        if pedal.before is not fault.position or pedal.position is None:
            return False
        other = self.walk.next_other_need(fault.letter, fault.item.index, fault.position)
        if other is None or other[1] is not pedal.position:
            return False
        after = self.walk.next_move(fault.letter, fault.item.index)
        return after is None or after[0] > other[0]

    def _meant_instead(self, move: Move, pedal: Pedal, now: int) -> tuple[Letter, Position] | None:
        """Another pedal that should have moved where this one did, and has no mark of its own.

        From there on it is taken to stand so, unless the note that needs it lies before the item
        ``now``: then marks may have moved it since.
        """
        # A slip keeps the sign and takes a neighbour's letter, more often than both are wrong.
        needs = {each: self.walk.next_need(each, pedal.setter_index) for each in LETTERS}
        likely = [each for each, need in needs.items() if need and need[1] is move.position]
        for letter in dict.fromkeys((*likely, *LETTERS)):
            other, need = self.pedals[letter], needs[letter]
            if letter is move.letter or need is None or other.position is None:
                continue
            if need[1] is other.position:
                continue
            if self.walk.last_need(letter, need[0]) >= pedal.setter_index:
                continue
            after = self.walk.next_move(letter, pedal.setter_index)
            if after is None or after[0] > need[0]:
                if need[0] >= now:
                    other.position = need[1]
                    other.setter, other.used = None, True
                self.log.told.add((self.walk.items[need[0]].place, letter, need[1]))
                return letter, need[1]
        return None

    def _stray(self, fault: Fault) -> tuple[Move, Pedal] | None:
        """A letter that does nothing useful, where the change that is missing could stand."""
        since = self.walk.last_need(fault.letter, fault.item.index)
        for letter in LETTERS:
            pedal = self.pedals[letter]
            move = pedal.setter
            if move is None or move.is_diagram or pedal.used or letter is fault.letter:
                continue
            if pedal.setter_index <= since or pedal.before is None:
                continue
            if move.key in self.log.excused and not self.log.muted:
                continue
            if (letter, move.position, move.place.bar) in self.walk.planned:
                continue
            need = self.walk.next_need(letter, pedal.setter_index)
            after = self.walk.next_move(letter, pedal.setter_index)
            serves = need is not None and need[1] is move.position
            in_time = need is not None and (after is None or after[0] > need[0])
            if serves and in_time and pedal.before is not move.position:
                continue
            return move, pedal
        return None

    def _tell(self, kind: EntryKind, fault: Fault, place: Place, move: Move | None) -> None:
        self.log.slip(
            kind,
            MarkSeverity.WRONG,
            place,
            (fault.letter,),
            () if move is None else (move,),
            fault.asks,
            ((fault.letter, fault.position),),
            fault.standing,
            fault.item.place,
        )

    def _tell_wrong(self, fault: Fault, move: Move, meant: tuple[Letter, Position] | None) -> None:
        pedal = self.pedals[move.letter]
        wanted: tuple[tuple[Letter, Position], ...] = ()
        if meant is not None:
            wanted = (meant,)
        elif pedal.before is not fault.position:
            wanted = ((fault.letter, fault.position),)
        self.log.slip(
            EntryKind.WRONG,
            MarkSeverity.WRONG,
            move.place,
            (move.letter,),
            (move,),
            fault.asks,
            wanted,
            fault.standing,
            fault.item.place,
        )
