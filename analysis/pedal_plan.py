"""The pedal plan: every movement of the feet, and what cannot be done.

Places are places on the page (score order). A change takes effect just before whatever is struck
at its place, and is printed there once, whatever repeats do. A grace note has a place of its own,
before its main note's.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Foot, Letter, Position, Setting
from pedalsetter.analysis.instrument.respelling import Pitch, Sounding
from pedalsetter.analysis.part import HarpPart, Place

__all__ = [
    "Change",
    "DecisionResult",
    "Finding",
    "FindingKind",
    "Mend",
    "MendKind",
    "MovementPlan",
    "NoteEdit",
    "PedalPlan",
    "Severity",
    "StringUse",
]


class Severity(Enum):
    """How much a finding matters, gravest first."""

    UNPLAYABLE = "cannot be played"
    RISKY = "risky"
    UNCOMFORTABLE = "uncomfortable"
    REMARK = "remark"


class FindingKind(Enum):
    """What a finding is about."""

    TWO_POSITIONS = "one letter in two positions"
    NO_SETTING = "no setting sounds these notes together"
    FOOT_TOO_FAST = "one foot has too little time"
    FOOT_HURRIED = "one foot is hurried"
    RINGING = "a pedal moves under a sounding string"
    OUT_OF_RANGE = "outside the compass"
    NO_PEDAL = "a string without pedal is wanted in two tunings"
    GLISSANDO = "the setting in force does not give the glissando"
    REENTRY = "a repeat is entered with another setting"
    DOUBLE_ALTERATION = "a double alteration is played on its equivalent"
    HAND_FULL = "more notes at once than fingers"
    WIDE_SPAN = "a hand must span more than a tenth"
    REPEATED_STRING = "one string is repeated too quickly"
    CHROMATIC_RUN = "a fast chromatic run"
    SHAREABLE = "two harps' parts that one could share"
    FEWER_CHANGES = "a respelling saves a change"
    DECISION = "a decision of the musician"
    IDLE_DECISION = "a decision that serves no note"

    @property
    def code(self) -> str:
        """A short name in plain words, as in ``foot-too-fast``."""
        return self.name.lower().replace("_", "-")


class MendKind(Enum):
    """What a mend does to the music, least intrusive first."""

    MISPRINT = "correct a misprint"
    RESPELL = "respell"
    DOUBLING = "drop an octave doubling"
    EARLIER = "move a change earlier"
    PLAIN = "leave out an ornament"
    SHORTEN = "end a note earlier"
    OCTAVE = "write it in another octave"
    THIN = "thin the chord"
    HOLD = "hold the old position"
    SECOND_HARP = "give notes to a second harp"


@dataclass(frozen=True, slots=True)
class NoteEdit:
    """What happens to one notehead, and to what is tied to it."""

    note: str
    """Id of the notehead."""
    pitch: Pitch | None
    """Written in its place; None where it leaves the part."""
    plain: bool = False
    """Its trill, mordent or turn goes, or its tremolo."""


@dataclass(frozen=True, slots=True)
class Mend:
    """A change of the notes that was tried: the altered part was planned again, and it helps."""

    kind: MendKind
    what: str
    """One sentence: what to write."""
    edits: tuple[NoteEdit, ...]
    removes: int
    """Findings other than remarks that are gone from the whole part; 0 mends a remark."""
    unplayable: tuple[int, int]
    """Findings of the whole part that cannot be played, before and after."""
    cost: tuple[Fraction, Fraction]
    """Cost of the whole plan, before and after; what follows may be planned better still."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that the harp cannot do, or does with difficulty, at one place."""

    kind: FindingKind
    severity: Severity
    place: Place
    staff: int | None
    notes: tuple[str, ...]
    """Ids of the noteheads concerned."""
    what: str
    """One sentence that names the notes and says why."""
    mend: str = ""
    """One sentence: what would help; empty if nothing is known to."""
    mends: tuple[Mend, ...] = ()
    """Mends that have been tried and help, best first; empty where none was asked for."""
    located: bool = True
    """False where the score has no such place, as for a decision in a bar that is not there."""

    def where(self, part: HarpPart) -> str:
        """The place in words: ``bar 12, beat 2½``."""
        return part.told_place(self.place) if self.located else "the decisions"


@dataclass(frozen=True, slots=True)
class StringUse:
    """The string that plays one written note."""

    note: str
    """Id of the notehead."""
    written: Pitch
    sounding: Sounding | None
    """None where the note cannot be played."""

    @property
    def respelled(self) -> bool:
        """Whether the string's letter differs from the written one."""
        return self.sounding is not None and self.sounding.letter is not self.written.letter


@dataclass(frozen=True, slots=True)
class Change:
    """One pedal moved by one foot."""

    letter: Letter
    old: Position
    new: Position
    foot: Foot
    """The foot that moves it; the other one than ``letter.foot`` only where crossing is allowed."""
    place: Place
    """Where it is made and printed."""
    needed: Place | None
    """The first moment that needs the new position; None if it only prepares a re-entry."""
    needed_by: tuple[str, ...]
    """Ids of the noteheads that need it there."""
    free_since: Place | None
    """The last moment that needed the old position; None if it was never needed."""
    seconds_free: Fraction | None
    """Seconds between the last stroke that needed the old position and the move."""
    seconds_since_same_foot: Fraction | None
    """Seconds since the same foot last moved; None if it has not moved."""
    why: str
    """One sentence for the musician."""
    decided: bool = False
    """The musician has decided its place."""
    elsewhere: tuple[tuple[Place, Fraction], ...] = ()
    """Other places where it could be made if all other changes stayed, with what each would cost
    more, one change being 1; cheapest first. Empty if that was not asked for."""
    together: Letter | None = None
    """The neighbouring pedal that the foot moves at the same place in the same movement."""
    struck_on: bool = False
    """What needed the old position is a trill or a tremolo, struck again after ``free_since``."""
    at_barline: bool = False
    """It moves at the barline after its place, from which all ways lead to sections, so that their
    diagrams tell it; without these a letter stands at its place."""

    @property
    def crossed(self) -> bool:
        """Whether the foot of the other side moves it."""
        return self.foot is not self.letter.foot

    @property
    def aside(self) -> str:
        """What is unusual about the foot, to be told after its name: ``, crossing``, ``, with A``.

        Empty in most changes.
        """
        if self.crossed:
            return ", crossing"
        return "" if self.together is None else f", with {self.together.value}"

    @property
    def text(self) -> str:
        """As printed: letter and sign, the natural written out."""
        return f"{self.letter.value}{self.new.sign}"


@dataclass(frozen=True, slots=True)
class DecisionResult:
    """What became of one decision of the musician."""

    told: str
    """The decision in words, with its place."""
    place: Place | None
    """None where the score has no such place."""
    refused: str = ""
    """Why it does not hold; empty if the plan honours it."""
    diagram: bool | None = None
    """Of a diagram that may stand at the place: wanted, or unwanted. None for other decisions."""


@dataclass(frozen=True, slots=True)
class MovementPlan:
    """The opening of one movement."""

    movement: int
    first_bar: int
    """Index of its first bar."""
    opening: Setting


@dataclass(frozen=True, slots=True)
class PedalPlan:
    """All movements of the feet for one part."""

    movements: tuple[MovementPlan, ...]
    changes: tuple[Change, ...]
    """By place; at one place in pedal order."""
    strings: Mapping[str, StringUse]
    """Notehead id to the string that plays it; tied continuations and cues are not in it."""
    findings: tuple[Finding, ...]
    """By place, gravest first at one place."""
    cost: Fraction = Fraction(0)
    cost_terms: tuple[tuple[str, Fraction], ...] = ()
    """What the cost is made of, by the names of the weights."""
    proved_optimal: bool = False
    tempo_assumed: bool = False
    """True where the score names no tempo and a default was taken."""
    entries: tuple[tuple[int, Setting], ...] = ()
    """Bars that are not played after the bar printed before them (second endings, codas …) and are
    entered with another setting than that bar leaves: (index of the bar, setting), by bar."""
    decisions: tuple[DecisionResult, ...] = ()
    """The musician's decisions, each with what became of it."""
    neighbours: tuple[StringUse, ...] = ()
    """The notes beside trilled and turned ones, which are written nowhere, that are played on
    another letter than they are read on; each by the id of the note that has the ornament."""
    bound: Fraction = Fraction(0)
    """No plan under the same prices costs less; 0 where that was not asked."""

    @property
    def gap(self) -> Fraction | None:
        """How much less the best plan could cost at most, as a share of this one's cost.

        0 if this is the best; None where no bound is known.
        """
        if self.proved_optimal or not self.cost:
            return Fraction(0)
        return (self.cost - self.bound) / self.cost if self.bound > 0 else None

    def __repr__(self) -> str:
        return f"<PedalPlan: {len(self.changes)} changes, {len(self.findings)} findings>"

    def setting_at(self, place: Place) -> Setting:
        """The setting with which notes struck at ``place`` sound, changes printed there made."""
        begins = [(movement.first_bar, movement.opening) for movement in self.movements]
        first, setting = max(
            (known for known in (*begins, *self.entries) if known[0] <= place.bar),
            key=lambda known: known[0],
        )
        start = bisect_left(self.changes, first, key=lambda change: change.place.bar)
        stop = bisect_right(self.changes, place, key=lambda change: change.place)
        for change in self.changes[start:stop]:
            setting = setting.moved(change.letter, change.new)
        return setting

    @property
    def respelled(self) -> tuple[StringUse, ...]:
        """Every note that is played on another letter than written."""
        return tuple(use for use in self.strings.values() if use.respelled)
