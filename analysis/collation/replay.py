"""Plays a part from the source's own marks and notes every fault, with the mark to blame."""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.collation.blame import Judge
from pedalsetter.analysis.collation.entries import EntryKind, MarkSeverity
from pedalsetter.analysis.collation.one_foot import gravity_of_one_foot
from pedalsetter.analysis.collation.score_walk import Ask, Item, Move, Walk
from pedalsetter.analysis.collation.slips import Fault, Log, Pedal, Replay
from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter, Position
from pedalsetter.analysis.playing.moments import GRACE_MICROSECONDS

__all__ = ["replay_marks"]


def replay_marks(walk: Walk) -> Replay:
    """Obey the marks in playing order; linear in the number of moments played."""
    return _Player(walk).play()


class _Player:
    def __init__(self, walk: Walk) -> None:
        self.walk = walk
        self.out = Replay()
        self.pedals = {letter: Pedal() for letter in LETTERS}
        self.seen: dict[tuple[str, Letter], Move] = {}
        self.used: set[tuple[str, Letter]] = set()
        self.overruled: dict[tuple[str, Letter], tuple[Move, Move]] = {}
        self.log = Log()
        self.judge = Judge(walk, self.pedals, self.log)

    def play(self) -> Replay:
        movement, opened, named = -1, True, set[Letter]()
        for item in self.walk.items:
            if item.movement != movement:
                movement, opened, named = item.movement, False, set()
                for pedal in self.pedals.values():
                    pedal.held_until, pedal.last_need = -1, -1
            named |= {move.letter for move in item.moves}
            if not opened and item.asks:
                opened = True
                if len(named) < len(LETTERS):
                    missing = tuple(letter for letter in LETTERS if letter not in named)
                    self.out.openings.append((item, missing))
            self._obey(item)
            self._strike(item)
        for key, move in self.seen.items():
            if key not in self.out.acting and key not in self.log.excused and not move.is_diagram:
                self.out.idle.append(move)
        for key, pair in self.overruled.items():
            if not {key, pair[1].key} & self.log.excused and key not in self.used:
                self.out.vain.append(pair)
        self.out.slips = self.log.slips
        return self.out

    # Marks.

    def _obey(self, item: Item) -> None:
        for letter in item.unsaid:
            # What a diagram should say and does not, nobody can know.
            self.pedals[letter].position = self.pedals[letter].setter = None
        movers: list[tuple[Move, Pedal]] = []
        twice: dict[Letter, Move] = {}
        for move in item.moves:
            other = twice.get(move.letter)
            if other is not None and other.position is not move.position:
                self.log.slip(
                    EntryKind.TWO_POSITIONS,
                    MarkSeverity.WRONG,
                    item.place,
                    (move.letter,),
                    (other, move),
                )
                if self._fits_better(item, other, move):
                    continue
            twice[move.letter] = move
            self.seen.setdefault(move.key, move)
            pedal = self.pedals[move.letter]
            old = pedal.position
            if old is not move.position:
                self.out.acting.add(move.key)
                if old is not None:
                    self.out.changes.add(move.key)
                    movers.append((move, pedal))
                setter = pedal.setter
                if setter is not None and not pedal.used:
                    back = pedal.before is move.position
                    if not setter.is_diagram or (back and pedal.before is not old):
                        self.overruled.setdefault(setter.key, (setter, move))
            pedal.before = old
            pedal.position = move.position
            pedal.setter, pedal.setter_index = move, item.index
            pedal.used, pedal.put_back = False, None
        if movers:
            self._check_movers(item, movers)

    def _fits_better(self, item: Item, one: Move, other: Move) -> bool:
        """Whether the first of two readings is the one that the notes want."""
        need = self.walk.next_need(one.letter, item.index)
        return need is not None and need[1] is one.position and need[1] is not other.position

    def _check_movers(self, item: Item, movers: Sequence[tuple[Move, Pedal]]) -> None:
        # Grace notes take their time from what goes before; in writing nothing sounds into them.
        written = item.microseconds - item.place.grace * GRACE_MICROSECONDS
        for move, pedal in movers:
            if move.letter in item.sliding:
                self.log.slip(
                    EntryKind.GLISSANDO, MarkSeverity.WRONG, item.place, (move.letter,), (move,)
                )
            elif pedal.held_until > written and pedal.held_by is not None:
                self.log.slip(
                    EntryKind.RINGING,
                    MarkSeverity.QUESTIONABLE,
                    item.place,
                    (move.letter,),
                    (move,),
                    (pedal.held_by,),
                )
            pedal.held_until = -1
        for foot in Foot:
            same = [(move, pedal) for move, pedal in movers if move.letter.foot is foot]
            gravity = gravity_of_one_foot(self.walk, item, same) if len(same) > 1 else None
            if gravity is not None:
                moves = tuple(move for move, _ in same)
                letters = tuple(move.letter for move in moves)
                self.log.slip(EntryKind.SAME_FOOT, gravity, item.place, letters, moves)

    # Notes.

    def _strike(self, item: Item) -> None:
        wrong: dict[tuple[Letter, Position], list[Ask]] = {}
        since = {letter: pedal.last_need for letter, pedal in self.pedals.items()}
        for ask in item.asks:
            if not self._sounds(item, ask):
                wrong.setdefault(ask.choices[0], []).append(ask)
        for (letter, position), asks in wrong.items():
            pedal = self.pedals[letter]
            if pedal.put_back is position:
                pedal.put_back = None
            else:
                # It is known, or the note would have been taken to sound.
                standing = position if pedal.position is None else pedal.position
                fault = Fault(item, letter, position, standing, tuple(asks), since[letter])
                self.out.faults.append(fault)
                need = (item.place, letter, position)
                self.log.muted = need in self.log.told
                self.judge.blame(fault)
                self.log.muted = False
                self.log.told.add(need)
            pedal.position = position
            pedal.setter, pedal.used = None, True
            for ask in asks:
                self._hold(item, pedal, ask)

    def _sounds(self, item: Item, ask: Ask) -> bool:
        """Whether a note comes out; a pedal of which nothing is known yet is taken as it should."""
        found = [
            (letter, position)
            for letter, position in ask.choices
            if self.pedals[letter].position is position
        ]
        if not found:
            letter, position = ask.choices[0]
            if self.pedals[letter].position is not None:
                return False
            self.pedals[letter].position = position
            found = [(letter, position)]
        pedal = self.pedals[found[0][0]]
        pedal.used = True
        if pedal.setter is not None:
            self.used.add(pedal.setter.key)
        self._hold(item, pedal, ask)
        return True

    def _hold(self, item: Item, pedal: Pedal, ask: Ask) -> None:
        pedal.last_need = item.index
        until = item.microseconds + ask.sounds
        if until >= pedal.held_until:
            pedal.held_until, pedal.held_by = until, ask
