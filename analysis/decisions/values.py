"""What the musician has decided about the pedals of one score.

Every decision is a *pin*: the plan is the cheapest that honours all pins, and a pin that cannot
hold is told with the reason and left aside. Here a decision only names its place as a musician
does; what that means in one score is found out by the planner.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter, Position, Setting

__all__ = [
    "NO_DECISIONS",
    "ChangePin",
    "CuePin",
    "Decisions",
    "DiagramPin",
    "FootPin",
    "OpeningPin",
    "Pedals",
    "Pin",
    "Respell",
    "RespellingPin",
    "SettingPin",
    "SmallNotesPin",
    "Spot",
    "WrittenNote",
]


class Respell(Enum):
    """How freely notes may be played on another letter than written.

    A double alteration has no string of its own and is played on its equivalent in any case.
    """

    NEVER = "never"
    """Not even where a note is lost without."""
    WHEN_NEEDED = "when-needed"
    """Where it saves a note, or a passage that a foot could not do."""
    FREELY = "freely"
    """Wherever it saves one change."""


Pedals = tuple[tuple[Letter, Position], ...]
"""Some or all letters, each with its position, in pedal order."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place as the musician names it: the printed bar and the beat."""

    at: str
    """``BAR`` or ``BAR:BEAT``, as in ``12`` or ``12:2½``."""
    movement: int | None = None
    """From 1; needed where several movements have the bar."""
    piece: int | None = None
    """From 1; which bar of this number, where a repeat or a page has split it."""
    grace: int = 0
    """Which grace note before the beat, 1 the nearest; 0 the beat itself."""

    def __str__(self) -> str:
        bar, _, beat = self.at.partition(":")
        told = f"bar {bar.strip()}" + (f", beat {beat.strip()}" if beat else "")
        if self.piece is not None:
            told += f" (piece {self.piece})"
        if self.movement is not None:
            told += f" of movement {self.movement}"
        if self.grace:
            told = f"grace note {self.grace} before {told}"
        return told


@dataclass(frozen=True, slots=True)
class WrittenNote:
    """A pitch as written; without octave it stands for all octaves."""

    letter: Letter
    alter: int
    octave: int | None = None

    def __str__(self) -> str:
        signs = {-2: "♭♭", -1: "♭", 0: "", 1: "♯", 2: "♯♯"}[self.alter]
        return f"{self.letter.value}{signs}{'' if self.octave is None else self.octave}"


@dataclass(frozen=True, slots=True)
class OpeningPin:
    """How the pedals stand when a movement begins."""

    pedals: Pedals
    movement: int = 1
    """From 1."""

    def __str__(self) -> str:
        return f"opening of movement {self.movement}: {_told(self.pedals)}"


@dataclass(frozen=True, slots=True)
class SettingPin:
    """How pedals stand at a place, changes printed there made."""

    spot: Spot
    pedals: Pedals

    def __str__(self) -> str:
        return f"setting in {self.spot}: {_told(self.pedals)}"


@dataclass(frozen=True, slots=True)
class ChangePin:
    """A pedal moves exactly at a place, and is printed there."""

    spot: Spot
    letter: Letter
    position: Position
    needed: Spot | None = None
    """If given, it is the change that this place needs: an existing change gets its place."""

    def __str__(self) -> str:
        text = f"change {self.letter.value}{self.position.sign} in {self.spot}"
        return text if self.needed is None else f"{text}, for {self.needed}"


@dataclass(frozen=True, slots=True)
class DiagramPin:
    """A diagram wanted or unwanted at a place."""

    spot: Spot
    wanted: bool = True

    def __str__(self) -> str:
        return f"{'diagram' if self.wanted else 'no diagram'} in {self.spot}"


@dataclass(frozen=True, slots=True)
class RespellingPin:
    """A note, or all notes of some bars, to be played on another letter, or on no other."""

    spot: Spot | None
    """Where the note is struck; None for a span."""
    bars: tuple[str, str] | None = None
    """First and last bar of a span, both included."""
    note: WrittenNote | None = None
    """The note; in a span None stands for all notes that have another letter."""
    staff: int | None = None
    """1 the upper staff; None for both."""
    wanted: bool = True
    """False: played as written."""
    played: tuple[Letter, Position] | None = None
    """The letter that plays it, where there are several."""
    movement: int | None = None
    """Of a span."""
    neighbour: bool = False
    """Not the note itself is meant, but what its trill, turn or mordent adds to it."""

    def __str__(self) -> str:
        note = "notes" if self.note is None else str(self.note)
        if self.neighbour:
            note = f"the neighbour of {note}"
        where = str(self.spot)
        if self.spot is None and self.bars is not None:
            first, last = self.bars
            where = f"bar {first}" if first == last else f"bars {first} to {last}"
        if self.staff is not None:
            where += f", {'upper' if self.staff == 1 else 'lower'} staff"
        if not self.wanted:
            return f"{note} as written in {where}"
        if self.played is None:
            return f"{note} on another letter in {where}"
        return f"{note} as {self.played[0].value}{self.played[1].sign} in {where}"


@dataclass(frozen=True, slots=True)
class SmallNotesPin:
    """Small notes of some bars are played, or only guide the harp."""

    bars: tuple[str, str]
    """First and last bar, both included."""
    sounds: bool = True
    """False: they are a cue, shown and not planned for."""
    staff: int | None = None
    """1 the upper staff; None for both."""
    movement: int | None = None
    """From 1."""

    def __str__(self) -> str:
        first, last = self.bars
        where = f"bar {first}" if first == last else f"bars {first} to {last}"
        if self.staff is not None:
            where += f", {'upper' if self.staff == 1 else 'lower'} staff"
        return f"small notes in {where} {'are played' if self.sounds else 'are a cue'}"


@dataclass(frozen=True, slots=True)
class CuePin:
    """Which part's cue stands before an entry of the harp, or that none does."""

    bar: str
    """The printed bar in which the harp comes in, or one of the rest before it."""
    part: str = ""
    """Name of the other part, or its number in the score from 1; empty: that heard best."""
    wanted: bool = True
    movement: int | None = None
    """From 1."""

    def __str__(self) -> str:
        where = str(Spot(self.bar, self.movement))
        if not self.wanted:
            return f"no cue in {where}"
        return f"cue in {where}" + (f" from {self.part}" if self.part else "")


@dataclass(frozen=True, slots=True)
class FootPin:
    """A pedal in the middle is worked by the foot of the other side.

    Only E by the left foot and B by the right are possible (common practice, no source).
    """

    letter: Letter
    foot: Foot

    def __str__(self) -> str:
        return f"{self.letter.value} by the {self.foot.value} foot"


Pin = OpeningPin | FootPin | RespellingPin | SettingPin | ChangePin | DiagramPin
"""One decision."""


@dataclass(frozen=True, slots=True)
class Decisions:
    """All that the musician has decided about one score."""

    pins: tuple[Pin, ...] = ()
    """Where two contradict each other, the earlier one holds."""
    respell: Respell | None = None
    """None: when needed."""
    comfortable_seconds: Fraction | None = None
    """One foot, one pedal, one notch. None: the planner's own, as for the next three."""
    least_seconds: Fraction | None = None
    two_notches: Fraction | None = None
    """Factor on both times where the pedal passes the natural notch."""
    ring_seconds: tuple[Fraction, Fraction, Fraction] | None = None
    """How long low, middle and high strings ring."""
    file: str = ""
    """Name of the file that they come from."""
    crossing: bool | None = None
    """Whether the left foot may take E and the right foot B for one change, where that pays. None:
    the planner's own, as for the next."""
    two_pedals: bool | None = None
    """Whether one foot may move two neighbouring pedals at once."""
    crossing_seconds: Fraction | None = None
    """How much longer a foot needs to cross, and to come back. None: the planner's own."""
    small_notes: tuple[SmallNotesPin, ...] = ()
    """Which small notes are played; they change the part before it is planned."""
    cues: tuple[CuePin, ...] = ()
    """What other parts show before the harp comes in; nothing of it is planned for."""

    def with_feet(self, *, crossing: bool | None, two_pedals: bool | None) -> Decisions:
        """These decisions, with other policies about the feet where they are given."""
        return replace(
            self,
            crossing=self.crossing if crossing is None else crossing,
            two_pedals=self.two_pedals if two_pedals is None else two_pedals,
        )

    def with_respell(self, respell: Respell | None) -> Decisions:
        """These decisions, with another policy if one is given."""
        return self if respell is None else replace(self, respell=respell)


NO_DECISIONS = Decisions()
"""Nothing decided."""


def _told(pedals: Pedals) -> str:
    if len(pedals) == len(LETTERS):
        return str(Setting(tuple(position for _, position in pedals)))
    return " ".join(f"{letter.value}{position.sign}" for letter, position in pedals)
