"""Plays a part from the source's own marks and notes every fault, with the mark to blame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from pedalsetter.analysis.collation.entries import EntryKind, MarkSeverity
from pedalsetter.analysis.collation.score_walk import Ask, Item, Move, Walk
from pedalsetter.analysis.harp import LETTERS, Foot, Letter, Position
from pedalsetter.analysis.part import Place
from pedalsetter.analysis.planning.moments import GRACE_MICROSECONDS

__all__ = ["Fault", "Replay", "Slip", "replay_marks"]

BRISK_MICROSECONDS = 250_000
"""The least time between two moves of one foot (common practice: below a quarter second is
unsafe)."""

_NEAR_BARS = 2
"""A note so few bars after an opening blames the opening, not a change between them."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A moment at which a note does not come out: where a pedal must stand, and does not."""

    item: Item
    letter: Letter
    position: Position
    standing: Position
    asks: tuple[Ask, ...]
    since: int
    """Index of the last item that needed the pedal elsewhere, or −1."""


@dataclass(frozen=True, slots=True)
class Slip:
    """Something found on the way, not yet put into words."""

    kind: EntryKind
    severity: MarkSeverity
    place: Place
    letters: tuple[Letter, ...]
    moves: tuple[Move, ...]
    asks: tuple[Ask, ...] = ()
    wanted: tuple[tuple[Letter, Position], ...] = ()
    standing: Position | None = None
    needed_at: Place | None = None


@dataclass(slots=True)
class Replay:
    """All that one walk through the music has shown."""

    slips: list[Slip] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    """Every fault of every pass."""
    idle: list[Move] = field(default_factory=list)
    """Letters that change nothing on any pass."""
    vain: list[tuple[Move, Move]] = field(default_factory=list)
    """Marks that move a pedal, but no note sounds by it on any pass, with the mark that moves it
    again; of diagrams only those after which it is moved back."""
    acting: set[tuple[str, Letter]] = field(default_factory=set)
    """Keys of the moves that change or open something."""
    changes: set[tuple[str, Letter]] = field(default_factory=set)
    """Keys of the moves that change a known position."""
    openings: list[tuple[Item, tuple[Letter, ...]]] = field(default_factory=list)
    """First item of each movement that begins without a whole setting, and what is not named."""


@dataclass(slots=True)
class _Pedal:
    """What is known about one pedal on the way."""

    position: Position | None = None
    """None until a mark or a note tells."""
    setter: Move | None = None
    """The mark that it obeys."""
    setter_index: int = -1
    before: Position | None = None
    """Where it stood before that mark."""
    used: bool = False
    """A note has sounded by it since that mark."""
    last_need: int = -1
    """Index of the last item that struck one of its strings."""
    held_until: int = -1
    held_by: Ask | None = None
    put_back: Position | None = None
    """Where an early mark wanted it, once the notes want it so."""


def replay_marks(walk: Walk) -> Replay:
    """Obey the marks in playing order; linear in the number of moments played."""
    return _Player(walk).play()


class _Player:
    def __init__(self, walk: Walk) -> None:
        self.walk = walk
        self.out = Replay()
        self.pedals = {letter: _Pedal() for letter in LETTERS}
        self.excused: set[tuple[str, Letter]] = set()
        """Keys of moves that an entry has explained already."""
        self.seen: dict[tuple[str, Letter], Move] = {}
        self.used: set[tuple[str, Letter]] = set()
        self.overruled: dict[tuple[str, Letter], tuple[Move, Move]] = {}
        self.known: set[tuple[EntryKind, Place, tuple[Letter, ...]]] = set()
        self.told: set[tuple[Place, Letter, Position]] = set()
        """Needs that were not met on an earlier pass; of them nothing more is told."""
        self.muted = False

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
            if key not in self.out.acting and key not in self.excused and not move.is_diagram:
                self.out.idle.append(move)
        for key, pair in self.overruled.items():
            if not {key, pair[1].key} & self.excused and key not in self.used:
                self.out.vain.append(pair)
        return self.out

    # Marks.

    def _obey(self, item: Item) -> None:
        for letter in item.unsaid:
            # What a diagram should say and does not, nobody can know.
            self.pedals[letter].position = self.pedals[letter].setter = None
        movers: list[tuple[Move, _Pedal]] = []
        twice: dict[Letter, Move] = {}
        for move in item.moves:
            other = twice.get(move.letter)
            if other is not None and other.position is not move.position:
                self._slip(
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

    def _check_movers(self, item: Item, movers: Sequence[tuple[Move, _Pedal]]) -> None:
        # Grace notes take their time from what goes before; in writing nothing sounds into them.
        written = item.microseconds - item.place.grace * GRACE_MICROSECONDS
        for move, pedal in movers:
            if item.sliding:
                self._slip(
                    EntryKind.GLISSANDO, MarkSeverity.WRONG, item.place, (move.letter,), (move,)
                )
            elif pedal.held_until > written and pedal.held_by is not None:
                self._slip(
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
            if len(same) > 1:
                self._check_foot(item, same)

    def _check_foot(self, item: Item, movers: Sequence[tuple[Move, _Pedal]]) -> None:
        """Several moves of one foot at one place: is there time for one after the other?

        A stack in a rest, or a diagram, is read and made in good time, one pedal after the other.
        """
        windows: list[tuple[int, int]] = []
        for move, pedal in movers:
            need = self.walk.next_need(move.letter, item.index)
            last = self.walk.items[-1].microseconds + 60_000_000
            until = self.walk.items[need[0]].microseconds if need is not None else last
            free = self.walk.items[pedal.last_need].microseconds if pedal.last_need >= 0 else -last
            windows.append((until, free))
        windows.sort()
        after = all(
            until - item.microseconds >= number * BRISK_MICROSECONDS
            for number, (until, _) in enumerate(windows)
        )
        foot_free, possible = None, True
        for until, free in windows:
            time = free if foot_free is None else max(free, foot_free + BRISK_MICROSECONDS)
            possible &= time <= until
            foot_free = time
        diagram = all(move.is_diagram for move, _ in movers)
        if possible and (after or diagram):
            return
        self._slip(
            EntryKind.SAME_FOOT,
            MarkSeverity.QUESTIONABLE if possible else MarkSeverity.WRONG,
            item.place,
            tuple(move.letter for move, _ in movers),
            tuple(move for move, _ in movers),
        )

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
                self.muted = need in self.told
                self._blame(fault)
                self.muted = False
                self.told.add(need)
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

    def _hold(self, item: Item, pedal: _Pedal, ask: Ask) -> None:
        pedal.last_need = item.index
        until = item.microseconds + ask.sounds
        if until >= pedal.held_until:
            pedal.held_until, pedal.held_by = until, ask

    # Whose fault.

    def _blame(self, fault: Fault) -> None:
        letter, position = fault.letter, fault.position
        pedal = self.pedals[letter]
        setter = None if pedal.used else pedal.setter
        late = self._late(fault)
        if late is not None:
            self.excused.add(late.key)
            self._tell(EntryKind.LATE, fault, late.place, late)
            return
        if setter is not None and pedal.before is not None:
            if self._is_early(fault, pedal):
                pedal.put_back = pedal.position
                kind = EntryKind.CONTRADICTORY_DIAGRAM if setter.is_diagram else EntryKind.EARLY
                self.excused.add(setter.key)
                self._tell(kind, fault, setter.place, setter)
                return
            if setter.is_diagram:
                if pedal.before is not pedal.position:
                    right = pedal.before is position
                    kind = EntryKind.CONTRADICTORY_DIAGRAM if right else EntryKind.WRONG
                    self.excused.add(setter.key)
                    self._tell(kind, fault, setter.place, setter)
                    return
            else:
                self.excused.add(setter.key)
                meant = self._meant_instead(setter, pedal) if pedal.before is position else None
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
            self.excused.add(move.key)
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

    def _is_early(self, fault: Fault, pedal: _Pedal) -> bool:
        """Whether the mark before is right, but for a note further on."""
        if pedal.before is not fault.position or pedal.position is None:
            return False
        other = self.walk.next_other_need(fault.letter, fault.item.index, fault.position)
        if other is None or other[1] is not pedal.position:
            return False
        after = self.walk.next_move(fault.letter, fault.item.index)
        return after is None or after[0] > other[0]

    def _meant_instead(self, move: Move, pedal: _Pedal) -> tuple[Letter, Position] | None:
        """Another pedal that should have moved where this one did, and has no mark of its own."""
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
                other.position = need[1]
                other.setter, other.used = None, True
                self.told.add((self.walk.items[need[0]].place, letter, need[1]))
                return letter, need[1]
        return None

    def _stray(self, fault: Fault) -> tuple[Move, _Pedal] | None:
        """A letter that does nothing useful, where the change that is missing could stand."""
        since = self.walk.last_need(fault.letter, fault.item.index)
        for letter in LETTERS:
            pedal = self.pedals[letter]
            move = pedal.setter
            if move is None or move.is_diagram or pedal.used or letter is fault.letter:
                continue
            if pedal.setter_index <= since or pedal.before is None:
                continue
            if move.key in self.excused and not self.muted:
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

    # Telling.

    def _tell(self, kind: EntryKind, fault: Fault, place: Place, move: Move | None) -> None:
        self._slip(
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
        self._slip(
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

    def _slip(
        self,
        kind: EntryKind,
        severity: MarkSeverity,
        place: Place,
        letters: tuple[Letter, ...],
        moves: tuple[Move, ...],
        asks: tuple[Ask, ...] = (),
        wanted: tuple[tuple[Letter, Position], ...] = (),
        standing: Position | None = None,
        needed_at: Place | None = None,
    ) -> None:
        key = (kind, place, letters)
        if self.muted or key in self.known:
            return
        self.known.add(key)
        self.out.slips.append(
            Slip(kind, severity, place, letters, moves, asks, wanted, standing, needed_at)
        )
