"""Why notes are played on other letters where their own do not clash: told from what stands around.

The written letter may be wanted otherwise at the very moment after all; or it would have had to
move there, or away again. Where a note on its strings is still written to sound, that is the
reason; where the foot has less time than it needs, for this pedal and the others that it moves
meanwhile, it is the foot; else the other string saves changes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.instrument.respelling import Pitch, Sounding
from pedalsetter.analysis.part import Head, Place
from pedalsetter.analysis.pedal_plan import Finding
from pedalsetter.analysis.planning.gathered import Demands, Elsewhere
from pedalsetter.analysis.planning.needs import Need
from pedalsetter.analysis.planning.sentences import Why, respelled_notes
from pedalsetter.analysis.planning.timing import Move
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["remarks_elsewhere"]

_HARDLY = 1_000
"""Microseconds of sound beyond a move that are only rounding."""


def remarks_elsewhere(
    demands: Demands, microseconds: Sequence[int], moves: Sequence[Move], weights: Weights
) -> Iterator[Finding]:
    """A remark for each moment at which notes are played elsewhere, and for each reason.

    ``microseconds`` are those of the moments on the page, ``moves`` all that the feet do.
    """
    around = _Around(demands, microseconds, moves, weights)
    found: dict[tuple[Place, Why], list[tuple[int, Head, Pitch, Sounding]]] = {}
    for one in demands.elsewhere:
        told = (one.staff, one.head, one.pitch, one.sounding)
        found.setdefault((one.place, around.why(one)), []).append(told)
    for (place, why), moved in found.items():
        yield respelled_notes(place, moved, why)


@dataclass(frozen=True, slots=True)
class _Known:
    moment: int
    need: Need


class _Around:
    """What each letter is wanted for, before and after a moment."""

    def __init__(
        self, demands: Demands, microseconds: Sequence[int], moves: Sequence[Move], weights: Weights
    ) -> None:
        self._time, self._moves, self._weights = microseconds, moves, weights
        self._here = demands.needs
        self._needs: dict[Letter, list[_Known]] = {letter: [] for letter in Letter}
        if demands.elsewhere:
            for moment, needs in enumerate(demands.needs):
                for letter, need in needs.items():
                    if need.notes:
                        self._needs[letter].append(_Known(moment, need))

    def why(self, one: Elsewhere) -> Why:
        """The reason of one note, by its written letter; a neighbour's as well."""
        letter, position = one.pitch.letter, Position(one.pitch.alter)
        here = self._here[one.moment].get(letter)
        if here is not None and here.notes and here.position is not position:
            return Why.CLASH
        now = self._time[one.moment]
        before = [known for known in self._needs[letter] if known.moment < one.moment]
        after = next((known for known in self._needs[letter] if known.moment > one.moment), None)
        rings, hurried = False, False
        last: int | None = None
        for known in reversed(before):
            if known.need.position is position:
                break
            stroke = known.need.stroke
            last = max(last or 0, self._time[known.moment] if stroke is None else stroke)
            rings = rings or known.need.until > now + _HARDLY
        if last is not None:
            hurried = self._is_short(letter, last, now)
        if after is not None and after.need.position is not position:
            then = self._time[after.moment]
            rings = rings or one.until > then + _HARDLY
            hurried = hurried or self._is_short(letter, now, then)
        if rings:
            return Why.RINGING
        return Why.TIME if hurried else Why.FEWER_CHANGES

    def _is_short(self, letter: Letter, start: int, stop: int) -> bool:
        """Whether a foot has too little time for one pedal more from one stroke to another."""
        others = sum(
            start <= move.microseconds <= stop and move.foot is letter.foot for move in self._moves
        )
        return stop - start < self._weights.comfortable_seconds * 1_000_000 * (1 + others)
