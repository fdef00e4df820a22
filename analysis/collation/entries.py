"""What a collation finds: one entry a slip, with its place, its reading and its reason."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import Enum

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.part import Place

__all__ = ["Collation", "CollationEntry", "EntryKind", "MarkSeverity"]


class EntryKind(Enum):
    """What is the matter with the source's marks at one place."""

    NO_OPENING = "no opening setting"
    SOME_NOT_ALL = "some changes marked, others not"
    """All or none: a part is pedalled right through or not at all (common practice)."""
    MISSING = "missing change"
    WRONG = "wrong letter or position"
    LATE = "mark after the note that needs it"
    EARLY = "mark before the last note that needs the old position"
    CONTRADICTORY_DIAGRAM = "diagram contradicts the letters before it"
    INCOMPLETE_DIAGRAM = "incomplete diagram"
    IMPOSSIBLE_DIAGRAM = "impossible diagram"
    TWO_POSITIONS = "one letter in two positions at once"
    SAME_FOOT = "two changes at once on one foot"
    RINGING = "a pedal moves under a sounding string"
    GLISSANDO = "a pedal moves during a glissando"
    REDUNDANT = "redundant mark"


class MarkSeverity(Enum):
    """How much an entry matters, gravest first."""

    WRONG = "wrong"
    """Who obeys the marks plays a wrong note, or cannot obey them."""
    QUESTIONABLE = "questionable"
    """The notes come out, but a careful editor would not print it so."""
    REMARK = "remark"
    """Worth a look; it may be meant."""


@dataclass(frozen=True, slots=True)
class CollationEntry:
    """One slip in the source's marks."""

    kind: EntryKind
    severity: MarkSeverity
    place: Place
    """Of the mark that is to blame; of the note where a mark is missing."""
    staff: int | None
    letters: tuple[Letter, ...]
    source: str
    """What stands there, as printed; empty if nothing does."""
    should: str
    """What should stand, as in ``F♯``; empty if nothing should."""
    why: str
    """One sentence that names the notes concerned."""
    marks: tuple[str, ...] = ()
    """Ids of the source's marks concerned."""
    notes: tuple[str, ...] = ()
    """Ids of the noteheads concerned."""

    @property
    def is_fault(self) -> bool:
        """Whether it is more than a remark."""
        return self.severity is not MarkSeverity.REMARK


@dataclass(frozen=True, slots=True)
class Collation:
    """All that is to be said about the marks of one source."""

    entries: tuple[CollationEntry, ...]
    """By place, gravest first at one place."""
    diagrams: int
    """How many diagrams the source has."""
    letters: int
    """How many pedals it names otherwise."""
    language: str
    """Of the letters; empty if there are none."""
    missing: int = 0
    """How many changes the notes want and no mark gives."""
    made: int = 0
    """How many changes the marks make."""

    @property
    def marked(self) -> bool:
        """Whether the source has pedal marks at all; without them nothing is wrong with them."""
        return bool(self.diagrams or self.letters)

    @property
    def wrong(self) -> bool:
        """Whether any entry is more than a remark."""
        return any(entry.is_fault for entry in self.entries)

    def counts(self) -> dict[EntryKind, int]:
        """How many entries there are of each kind, in the order of the kinds."""
        found = Counter(entry.kind for entry in self.entries)
        return {kind: found[kind] for kind in EntryKind if found[kind]}
