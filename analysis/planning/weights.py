"""What the planner tries to avoid, and how much: every limit and price in one place.

Prices are in *points*; one change of one pedal costs 100. They say what is preferred to what, and
nothing more: two changes are made rather than one impossible one, a note is respelled rather than
moved for impossibly fast, a mark stands at a barline rather than inside a bar.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from fractions import Fraction

from pedalsetter.analysis.errors import DecisionsError

__all__ = ["CROSSED", "REGISTERS", "TWO_PEDALS", "Weights", "less_free", "register_of"]

REGISTERS = ("low", "middle", "high")
"""Octaves 1–2, 3–5 and 6–7: low strings ring longest (N. Rimsky-Korsakov, *Principles of
Orchestration*, "Harp")."""


CROSSED = 450
"""Points of a crossing where it is allowed: a note is rather respelled, and two changes more are
rather made, but one that comes impossibly fast is crossed for (an emergency; common practice, no
source)."""

TWO_PEDALS = 100
"""Points of two pedals at once where that is allowed, those of one change more: no foot does it
only to be less hurried (awkward; common practice, no source)."""


def register_of(octave: int) -> int:
    """Index into :data:`REGISTERS` of a string's octave."""
    if octave <= 2:
        return 0
    return 1 if octave <= 5 else 2


@dataclass(frozen=True, slots=True)
class Weights:
    """The limits of the feet in seconds, and the prices in points.

    The times vary by player. The comfortable half second is that of E. Volpé Bligh, *Writing for
    the Pedal Harp*, point 6: about two pedals a second, four where two fall to each foot. The
    others are rules of thumb (common practice, no source).

    Raises:
        DecisionsError: a negative price, or limits that contradict each other.
    """

    change: int = 100
    """One pedal moved and told by a letter."""
    at_diagram: int = 20
    """The same, told by the diagram of a section that begins after a breath: all are read at one
    glance, with the hands at rest."""
    at_section: int = 70
    """The same where the section begins without one."""
    breath_seconds: Fraction = Fraction(1)
    """So long at least the hands play nothing before a section that begins after a breath."""
    after_diagram: int = 30
    """A letter stands in the first two bars after the diagram of a section, which might have told
    it."""
    second_notch: int = 10
    """Extra where it passes the natural notch."""
    hurried: int = 60
    """One foot has less than ``comfortable_seconds``."""
    impossible: int = 2000
    """One foot has less than ``least_seconds``."""
    comfortable_seconds: Fraction = Fraction(1, 2)
    """One foot, one pedal, one notch: this much time or more is comfortable. It counts between two
    moves of one foot, and between the last stroke that needed the old position (of a trill or a
    tremolo that is at its end) and the move."""
    least_seconds: Fraction = Fraction(1, 4)
    """Less than this is impossible; between the two the foot is hurried."""
    two_notches: Fraction = Fraction(3, 2)
    """Factor on both times where the pedal passes the natural notch."""
    crossed: int | None = None
    """The left foot takes E, or the right foot B, for one change. None: never; :data:`CROSSED` is
    the usual price."""
    crossing_seconds: Fraction = Fraction(3, 4)
    """A foot that crosses needs this much longer on its way there, and again on its way back, so
    that it has a second at least (common practice, no source)."""
    two_pedals: int | None = None
    """One foot moves two neighbouring pedals of its side at once, from one position to another
    that are the same for both. None: never; :data:`TWO_PEDALS` is the usual price."""
    under_note: int = 400
    """The pedal moves while a note on its strings is still written to sound."""
    resonance: int = 20
    """The pedal moves right after its string was plucked; falls evenly to 0 as the string dies."""
    ring_seconds: tuple[Fraction, Fraction, Fraction] = (
        Fraction(4),
        Fraction(2),
        Fraction(1, 2),
    )
    """How long a string rings in each register (common practice, weak)."""
    on_need: int = 40
    """The mark stands right at the note that needs it …"""
    near_seconds: Fraction = Fraction(1, 2)
    """… falling evenly to nothing where it stands so long before it."""
    beat: int = 5
    """The mark stands on a beat inside the bar rather than at the barline."""
    off_beat: int = 20
    """The mark stands off the beat …"""
    fine: int = 10
    """… and the same beyond that where it stands at a finer division of the beat than its halves or
    thirds."""
    at_grace: int = 100
    """The mark stands between grace notes."""
    after_grace: int = 25
    """The mark stands between grace notes and the note that they lead to, rather than before them
    all."""
    after_last: int = 30
    """The mark stands after the last moment before a repeat or jump, with no note to read it by."""
    at_turn: int = 40
    """The mark stands at the first note after a repeat or jump, where the eye has just leapt."""
    between: int = 60
    """The mark shares the time between two moments with another of the same foot."""
    under_notes: int = 6
    """The foot moves while the hands play, rather than during a rest."""
    within_rest: int = 10
    """The mark stands inside a rest rather than where it begins."""
    splits_rest: int = 60
    """It stands in a bar of rest that it would part from the one before, so that the bars could not
    be counted together."""
    early: int = 4
    """For each second between the move and its need, a rest counting as its end …"""
    very_early: Fraction = Fraction(1, 8)
    """… and for each second squared, so that early moves cost the more the earlier."""
    early_at_diagram: int = 4
    """A diagram tells what is played from there: what it sets early costs one such part of that."""
    respelled: int = 350
    """A note is played on another letter than written; more than two changes, so that it serves
    to save a passage and not to shave a move. A double alteration's equivalent is free, but B♯, C♭,
    E♯ or F♭ where a natural would serve counts as one."""
    respelled_freely: int = 30
    """The same where respelling is welcome: it pays wherever it saves one change."""
    lost: int = 10_000
    """A note cannot sound; the neighbour of a trilled or turned note counts half."""

    def __post_init__(self) -> None:
        prices = [getattr(self, one.name) or 0 for one in fields(self) if "int" in str(one.type)]
        positive = self.near_seconds > 0 and self.early_at_diagram > 0
        if min(prices) < 0 or self.very_early < 0 or not positive:
            raise DecisionsError("a price is negative", mend="Give 0 where nothing is to be paid.")
        if self.crossing_seconds < 0:
            raise DecisionsError("a foot cannot cross in less than no time")
        if not 0 <= self.least_seconds <= self.comfortable_seconds or self.two_notches < 1:
            raise DecisionsError(
                "the times of the feet contradict each other",
                mend="Let the least time not exceed the comfortable one.",
            )
        if not self.hurried <= min(self.change, self.impossible):
            raise DecisionsError(
                "a hurried foot may not cost more than one change or an impossible one"
            )


def less_free(weights: Weights) -> Iterator[Weights]:
    """The weights without one, the other, and both freedoms of the feet that they allow."""
    if weights.crossed is not None:
        yield replace(weights, crossed=None)
    if weights.two_pedals is not None:
        yield replace(weights, two_pedals=None)
    if weights.crossed is not None and weights.two_pedals is not None:
        yield replace(weights, crossed=None, two_pedals=None)
