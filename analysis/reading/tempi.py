"""Speed from moment to moment, from figures, sounds, and words of gradual change."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.part import Bar, Direction, DirectionKind, Tempo
from pedalsetter.analysis.reading.directions import SpeedMark
from pedalsetter.analysis.reading.tempo_words import TempoTerm

__all__ = ["build_tempi"]

_SLOWER = Fraction(4, 5)
_FASTER = Fraction(5, 4)
"""How much a *rit.* or *accel.* comes to where the score does not say: a fifth slower, or a
quarter faster. A modest guess (common practice, no source)."""

_BARS = 2
"""How many bars a gradual change lasts where nothing ends it."""


def build_tempi(
    speeds: Sequence[SpeedMark], directions: Sequence[Direction], bars: Sequence[Bar]
) -> tuple[Tempo, ...]:
    """The tempo list in order of onset; empty if no figure stands anywhere in the score.

    At one moment a printed figure outranks one that is only played. A gradual change runs to the
    next figure if that lies in its direction, else a modest way; *a tempo* and *Tempo I* return.
    """
    if not any(mark.quarters_per_minute for mark in speeds) or not bars:
        return ()
    end = bars[-1].end
    known: dict[Fraction, SpeedMark] = {}
    for mark in sorted(speeds, key=lambda each: (each.onset, each.printed)):
        if mark.quarters_per_minute is not None:
            known[mark.onset] = mark
    terms: dict[Fraction, TempoTerm] = {}
    for mark in speeds:
        if mark.term is not None and mark.term is not TempoTerm.STEADY:
            terms.setdefault(mark.onset, mark.term)
    moments = sorted(set(known) | set(terms))
    first = known[min(known)].quarters_per_minute or Fraction(0)
    tempi: dict[Fraction, Tempo] = {}
    now = base = first
    for index, onset in enumerate(moments):
        stop = moments[index + 1] if index + 1 < len(moments) else end
        term = terms.get(onset)
        figure = known[onset].quarters_per_minute if onset in known else None
        if figure is not None:
            now = base = figure
        elif term is TempoTerm.BACK:
            now = base
        elif term is TempoTerm.FIRST:
            now = base = first
        if term in (TempoTerm.SLOWER, TempoTerm.FASTER):
            is_slower = term is TempoTerm.SLOWER
            limit = _limit(onset, stop, directions, bars)
            towards = now * (_SLOWER if is_slower else _FASTER)
            if limit == stop and stop in known and stop not in terms:
                reached = known[stop].quarters_per_minute or now
                if (reached < now) is is_slower and reached != now:
                    towards = reached
            tempi[onset] = Tempo(onset, now, towards)
            now = towards
            if limit < stop:
                tempi[limit] = Tempo(limit, now)
        else:
            tempi[onset] = Tempo(onset, now)
    ordered = [tempi[onset] for onset in sorted(tempi) if onset < end]
    return tuple(_without_repetition(ordered))


def _limit(
    onset: Fraction, stop: Fraction, directions: Sequence[Direction], bars: Sequence[Bar]
) -> Fraction:
    """Where a gradual change from ``onset`` is over: at its dashes' end, or after two bars."""
    starts = [
        each.number
        for each in directions
        if each.kind is DirectionKind.DASHES_START and each.onset == onset
    ]
    for each in directions:
        if each.kind is DirectionKind.DASHES_STOP and each.number in starts and each.onset > onset:
            return min(stop, each.onset)
    here = next(bar.index for bar in reversed(bars) if bar.start <= onset)
    return min(stop, bars[min(here + _BARS, len(bars)) - 1].end)


def _without_repetition(tempi: Sequence[Tempo]) -> list[Tempo]:
    kept: list[Tempo] = []
    for tempo in tempi:
        if (
            kept
            and tempo.towards is None
            and kept[-1].towards is None
            and kept[-1].quarters_per_minute == tempo.quarters_per_minute
        ):
            continue
        kept.append(tempo)
    return kept
