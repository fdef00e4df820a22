"""Seconds at every moment of the page, from the score's tempo marks."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from math import lcm

from pedalsetter.analysis.part import HarpPart, Tempo

__all__ = ["ASSUMED_TEMPO", "Clock"]

ASSUMED_TEMPO = Fraction(72)
"""Quarters a minute where the score names no tempo (common practice, no source: an andante)."""

_MICROSECOND = 10**6

_PANELS = 8
"""Of Simpson's rule: doubling or halving the speed is then right to a hundred microseconds."""


class Clock:
    """Turns score time (quarters, each bar once) into seconds.

    A gradual change of tempo is taken as linear in score time; its seconds are found by Simpson's
    rule and rounded to microseconds, everything else is exact.
    """

    def __init__(self, part: HarpPart) -> None:
        tempi = sorted(part.tempi, key=lambda tempo: tempo.onset)
        self.assumed = not tempi
        """True where no tempo is named."""
        if not tempi:
            tempi = [Tempo(Fraction(0), ASSUMED_TEMPO)]
        if tempi[0].onset > 0:
            # What is played before the first mark is taken at its speed.
            tempi.insert(0, Tempo(Fraction(0), tempi[0].quarters_per_minute))
        self._known: dict[Fraction, int] = {}
        self._onsets = [tempo.onset for tempo in tempi]
        self._tempi = tempi
        self._seconds = [Fraction(0)]
        for index in range(1, len(tempi)):
            self._seconds.append(self._seconds[-1] + self._within(index - 1, tempi[index].onset))
        self._lines = [self._line(index) for index in range(len(tempi))]

    def seconds(self, onset: Fraction) -> Fraction:
        """Seconds from the beginning of the page to ``onset``, each bar once."""
        index = max(0, bisect_right(self._onsets, onset) - 1)
        return self._seconds[index] + self._within(index, onset)

    def microseconds(self, onset: Fraction) -> int:
        """As :meth:`seconds`, rounded to microseconds."""
        known = self._known.get(onset)
        if known is None:
            index = max(0, bisect_right(self._onsets, onset) - 1)
            line = self._lines[index]
            if line is None:
                known = round(self.seconds(onset) * _MICROSECOND)
            else:
                slope, height, under = line
                whole = under * onset.denominator
                above = slope * onset.numerator + height * onset.denominator
                known, left = divmod(above, whole)
                # As round() does: half a microsecond goes to the even one.
                if 2 * left > whole or (2 * left == whole and known % 2):
                    known += 1
            self._known[onset] = known
        return known

    def _line(self, index: int) -> tuple[int, int, int] | None:
        """Microseconds at a steady tempo: (slope · onset + height) / the third; None if not steady.

        All onsets of a part are asked for, and whole numbers are quicker than fractions.
        """
        tempo = self._tempi[index]
        if tempo.towards is not None and index + 1 < len(self._tempi):
            return None
        slope = _MICROSECOND * 60 / tempo.quarters_per_minute
        height = self._seconds[index] * _MICROSECOND - slope * tempo.onset
        under = lcm(slope.denominator, height.denominator)
        return int(slope * under), int(height * under), under

    def _within(self, index: int, onset: Fraction) -> Fraction:
        tempo = self._tempi[index]
        begin, length = tempo.onset, onset - tempo.onset
        speed = tempo.quarters_per_minute
        if tempo.towards is None or index + 1 == len(self._tempi) or length <= 0:
            return length * 60 / speed
        whole = self._onsets[index + 1] - begin
        reached = speed + (tempo.towards - speed) * length / whole
        step = (reached - speed) / _PANELS
        slowness = [1 / (speed + step * point) for point in range(_PANELS + 1)]
        weighed = slowness[0] + slowness[-1] + 4 * sum(slowness[1::2]) + 2 * sum(slowness[2:-1:2])
        exact = length * 60 * weighed / (3 * _PANELS)
        return Fraction(round(exact * _MICROSECOND), _MICROSECOND)
