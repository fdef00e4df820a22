"""What a replay finds: faults and slips, with the marks and the notes concerned."""

from __future__ import annotations

from dataclasses import dataclass, field

from pedalsetter.analysis.collation.entries import EntryKind, MarkSeverity
from pedalsetter.analysis.collation.score_walk import Ask, Item, Move
from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.part import Place

__all__ = ["Fault", "Log", "Pedal", "Replay", "Slip"]


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
class Pedal:
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


class Log:
    """What a player notes down on the way: each slip once, however often it is played."""

    def __init__(self) -> None:
        self.slips: list[Slip] = []
        self.excused: set[tuple[str, Letter]] = set()
        """Keys of moves that an entry has explained already."""
        self.told: set[tuple[Place, Letter, Position]] = set()
        """Needs that were not met on an earlier pass; of them nothing more is told."""
        self.muted = False
        self._known: set[tuple[EntryKind, Place, tuple[Letter, ...]]] = set()

    def slip(
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
        """Note one slip, unless it is known or nothing is to be told."""
        key = (kind, place, letters)
        if self.muted or key in self._known:
            return
        self._known.add(key)
        self.slips.append(
            Slip(kind, severity, place, letters, moves, asks, wanted, standing, needed_at)
        )
