"""What the plan says about each change: why it is made, and how the feet fare."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Foot, Letter, Position
from pedalsetter.analysis.naming.wording import NotesByName
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change, Finding
from pedalsetter.analysis.planning.sentences import (
    foot_too_fast,
    rings_on,
    seconds_told,
)
from pedalsetter.analysis.planning.timing import Timing
from pedalsetter.analysis.planning.walk import Movement
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["Made", "Teller"]


@dataclass(frozen=True, slots=True)
class Made:
    """A change with its place on the page."""

    movement: Movement
    place: Place
    microseconds: int
    needed: Place | None
    """What needs the new position; None if it is only decided, or prepares a re-entry."""
    notes: tuple[str, ...]
    """Ids of the noteheads that need it there."""
    together: Letter | None = None
    """The neighbouring pedal that the foot moves at the same time."""
    at_barline: bool = False
    """The diagram after the barline tells it."""


_HARDLY = 1_000
"""A thousandth of a second, so that rounding is never taken for a string that sounds on."""


class Teller:
    """Words every change of one part, and what is hard about it."""

    def __init__(
        self,
        part: HarpPart,
        graces: Mapping[str, int],
        weights: Weights,
        crossed: frozenset[Letter] = frozenset(),
    ) -> None:
        self._part = part
        self._crossed = crossed
        self._weights = weights
        self._graces = graces
        self._names = NotesByName(part)

    def change(self, made: Made, timing: Timing) -> Change:
        """A change as the plan gives it, with its reason in one sentence."""
        one = made.movement
        foot = one.letter.foot
        if one.crossed or one.letter in self._crossed:
            foot = foot.other
        free = _seconds(timing.free)
        same = _seconds(timing.same_foot)
        text = f"{one.letter.value}{one.new.sign}"
        if made.needed is not None:
            by = self._names.told(made.notes, one.letter, one.new)
            told = [f"{text} is needed {self._where(made.needed)} by {by}"]
        elif one.need is not None:
            told = [f"{text} is set as decided"]
        else:
            told = [f"{text} is set again for what is played after the barline"]
        if made.at_barline:
            told.append("the diagram there tells it")
        if one.decided:
            told.append("its place was decided")
        told += self._times(one.letter, one.old, foot, timing)
        if one.crossed:
            told.append(f"it crosses, which leaves the {foot.other.value} foot more time")
        if made.together is not None:
            told.append(f"it moves {made.together.value} in the same movement")
        return Change(
            one.letter,
            one.old,
            one.new,
            foot,
            made.place,
            made.needed,
            made.notes,
            timing.free_place,
            free,
            same,
            "; ".join(told) + ".",
            one.decided,
            together=made.together,
            struck_on=timing.struck_on,
            at_barline=made.at_barline,
        )

    def as_marked(self, change: Change, timing: Timing) -> str:
        """Why a change that marks give is made, and how the foot fares, in one sentence."""
        told = [f"{change.text} is printed"]
        if change.needed is not None:
            by = self._names.told(change.needed_by, change.letter, change.new)
            told = [f"{change.text} is needed {self._where(change.needed)} by {by}"]
        told += self._times(change.letter, change.old, change.foot, timing)
        return "; ".join(told) + "."

    def _times(self, letter: Letter, old: Position, foot: Foot, timing: Timing) -> Iterator[str]:
        """What the foot has done before, and what the letter was needed for."""
        free, same = _seconds(timing.free), _seconds(timing.same_foot)
        if timing.free_place is not None and free is not None:
            text = f"{letter.value}{old.sign}"
            by = self._names.told(timing.free_notes, letter, old)
            before = f"{seconds_told(free)} before the pedal moves"
            if timing.struck_on:
                yield f"{text} was needed until {before} ({by})"
            else:
                where = self._where(timing.free_place)
                yield f"{text} was last needed {where} ({by}), {before}"
        if same is not None:
            yield f"the {foot.value} foot last moved {seconds_told(same)} before"
        else:
            yield f"the {foot.value} foot has not moved before"

    def _where(self, place: Place) -> str:
        return f"in {self._part.told_place(place)}"

    def _on_old(self, change: Change, notes: Sequence[str]) -> str:
        """The notes that want the pedal where it stands before the change."""
        return self._names.told(notes, change.letter, change.old)

    def judge(self, change: Change, timing: Timing) -> list[Finding]:
        """Findings about one change: too fast, hurried, under a sounding note."""
        found: list[Finding] = []
        weights = self._weights
        factor = weights.two_notches if change.old.notches_to(change.new) == 2 else Fraction(1)
        notes = change.needed_by
        travel = Fraction(timing.travel, 1_000_000)
        given = [
            (seconds - lost, seconds, old)
            for seconds, lost, old in (
                (change.seconds_free, 0, self._on_old(change, timing.free_notes)),
                (change.seconds_since_same_foot, travel, None),
            )
            if seconds is not None
        ]
        if given:
            left, seconds, old = min(given, key=lambda one: one[0])
            impossible = left < weights.least_seconds * factor
            if left < weights.comfortable_seconds * factor:
                found.append(
                    foot_too_fast(
                        change.place,
                        notes,
                        change.foot,
                        change.text,
                        seconds,
                        impossible=impossible,
                        old=old,
                        crossing=bool(travel),
                    )
                )
        if timing.under > _HARDLY:
            old = self._on_old(change, timing.under_notes)
            found.append(rings_on(change.place, change.text, old, timing.under_notes))
        return found


def _seconds(microseconds: int | None) -> Fraction | None:
    return None if microseconds is None else Fraction(microseconds, 1_000_000)
