"""Rests and sections of a stretch: where a pedal is moved at ease, and where many are."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from pedalsetter.analysis.planning.form import Form
from pedalsetter.analysis.planning.weights import Weights
from pedalsetter.analysis.playing.moments import Moments

__all__ = ["Rests"]

_SECOND = 1_000_000

_BARS_AFTER = 2
"""In so many bars a letter stands soon after the diagram that begins them."""

_TURNS = 4
"""A foot has so many pedals at most."""


class Rests:
    """What rests and sections do to the prices of one stretch.

    Without this the diagram at a section shows pedals that nobody has set yet: of 63 diagrams in
    the corpus 15 were contradicted by a letter within a bar, now 12 of 102, and letters that stood
    at their very note without need were 115 and are 94.
    """

    def __init__(
        self,
        form: Form,
        begin: int,
        moments: Moments,
        sounding: Sequence[bool],
        until: Sequence[int],
        sections: Collection[int],
        ways: int,
        weights: Weights,
    ) -> None:
        """The stretch is the last of ``form`` so far; its first place is ``begin``.

        ``until`` tells for each moment how long what begins there is written to sound,
        microseconds on the page. Where it leads to a diagram, this tells what is moved at its end
        too: a price shared by the ``ways`` to that diagram.
        """
        self._form, self._begin, self._weights = form, begin, weights
        count = len(form.moments) - begin
        times = form.times[begin:]
        self._idle = [moment >= 0 and not sounding[moment] for moment in form.moments[begin:]]
        """Where the hands play nothing."""
        self._silent: list[bool] = []
        """Where nothing is written to sound."""
        last = 0
        for moment, time, idle in zip(form.moments[begin:], times, self._idle, strict=True):
            self._silent.append(idle and time >= last)
            if moment >= 0 and not idle:
                last = max(last, until[moment] + time - moments.microseconds[moment])
        self._bars = [
            moments.places[moment].bar if moment >= 0 else -1 for moment in form.moments[begin:]
        ]
        self._shown = [
            moment >= 0
            and self._bars[place] in sections
            and moments.first_of_bar[self._bars[place]] == moment
            for place, moment in enumerate(form.moments[begin:])
        ]
        told = False
        for place in range(count):
            # One diagram tells of all that a rest has time for.
            told = told and place > 0 and self._silent[place - 1]
            self._shown[place] = self._shown[place] and not told
            told = told or self._shown[place]
        form.shown.extend(self._shown)
        form.counted.extend(self._counted(times))
        form.change_prices.extend([weights.change] * count)
        form.spread.extend([0] * count)
        form.rested.extend([0] * count)
        form.settled.extend(times)
        for place in range(count):
            if self._shown[place]:
                self._show(place, times)
        self._leads = ways > 0 and count > 1
        if self._leads:
            form.shown[-1] = True
            form.change_prices[-1] = self._told(count - 1, count - 1, times) // ways

    def _told(self, place: int, end: int, times: Sequence[int]) -> int:
        """Points of a move that a diagram tells, which is read at ease after a breath."""
        idle = place - 1
        while idle >= 0 and self._idle[idle]:
            idle -= 1
        breath = times[end] - times[max(idle, 0)]
        at_ease = breath >= int(self._weights.breath_seconds * _SECOND)
        return self._weights.at_diagram if at_ease else self._weights.at_section

    def _counted(self, times: Sequence[int]) -> list[int]:
        """For each place of a rest the time of its end, for others their own."""
        counted = list(times)
        for place in range(len(times) - 2, -1, -1):
            if self._silent[place]:
                counted[place] = counted[place + 1]
        return counted

    def _show(self, place: int, times: Sequence[int]) -> None:
        """A diagram stands at a place: pedals are set with it, at ease in a rest around it."""
        form, weights, begin = self._form, self._weights, self._begin
        first, end = place, place
        while first > 0 and self._silent[first - 1]:
            first -= 1
        while self._silent[end]:
            end += 1
        form.change_prices[begin + place] = self._told(place, end, times)
        silence = times[end] - times[first]
        comfortable = int(weights.comfortable_seconds * _SECOND)
        if silence >= (_TURNS + 1) * comfortable:
            widest = int(comfortable * weights.two_notches)
            step = min(widest, silence // (_TURNS + 1))
            form.spread[begin + place] = step
            # Where the rest goes on after the diagram, the pedals are moved there.
            form.settled[begin + place] = times[end] - (step if end > place else 0)
            for one in range(first, end):
                form.rested[begin + one] = times[one] - times[first]

    def price(self, prices: list[int]) -> None:
        """Add to the prices of marks what rests and diagrams make of them."""
        weights = self._weights
        struck = {bar for bar, silent in zip(self._bars, self._silent, strict=True) if not silent}
        if self._leads:
            prices[-1] = 0
        soon = -1
        for place in range(len(prices) - 1):
            bar = self._bars[place]
            if self._shown[place]:
                soon = bar + _BARS_AFTER
            elif bar < soon:
                prices[place] += weights.after_diagram
            if self._silent[place] and place and self._silent[place - 1] and not self._shown[place]:
                split = bar not in struck and self._bars[place - 1] not in struck
                prices[place] += weights.splits_rest if split else weights.within_rest
