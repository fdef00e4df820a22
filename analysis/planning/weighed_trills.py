"""Trills and tremolos whose strings can be weighed together with everything else.

What is trilled keeps its letters for as long as it lasts, so the moments that it lasts over belong
together. They are weighed where nothing ties them to what a line does not hold.
"""

from __future__ import annotations

from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.needs import Chord
from pedalsetter.analysis.planning.windows import Line

__all__ = ["answered", "weighed"]


def answered(demands: Demands) -> dict[int, Answer]:
    """How every moment is answered now, those that something is trilled over included."""
    known = {**demands.chords, **demands.held}
    return {moment: answer for moment, (_, answer) in known.items()}


def weighed(line: Line, demands: Demands) -> frozenset[int]:
    """The moments of a line that something is trilled over, where their strings can be weighed.

    Left out is what a glissando slides through, what lasts beyond the line or began before it, and
    what repeats a note that has its string already, being tied to it. So is what has no choice.
    """
    if not demands.lasting:
        return frozenset()
    places = {moment: place for place, moment in enumerate(line.moments)}
    found: set[int] = set()
    for begin, end in _spans(places, demands):
        moments = range(begin, end + 1)
        whole = all(places.get(moment, -1) == places[begin] + moment - begin for moment in moments)
        if not whole or not demands.sliding.isdisjoint(moments):
            continue
        chords = [known for moment in moments if (known := _chord(demands, moment)) is not None]
        if any(_echoes(chord) for chord, _ in chords):
            continue
        if any(len(chord.answers(chord.lost(answer))) > 1 for chord, answer in chords):
            found.update(moments)
    return frozenset(found)


def _chord(demands: Demands, moment: int) -> tuple[Chord, Answer] | None:
    return demands.chords.get(moment) or demands.held.get(moment)


def _spans(places: dict[int, int], demands: Demands) -> list[tuple[int, int]]:
    """First and last moments of what is trilled, those that overlap made one."""
    spans: list[tuple[int, int]] = []
    for moment in sorted(demands.lasting):
        end = demands.lasting[moment]
        if spans and moment <= spans[-1][1]:
            spans[-1] = (spans[-1][0], max(end, spans[-1][1]))
        else:
            spans.append((moment, end))
    return [span for span in spans if span[0] in places]


def _echoes(chord: Chord) -> bool:
    """Whether a note with a choice has its string from another moment."""
    return any(
        len(wish.choices) > 1
        and not any(strike.real for strike in group)
        and not all(strike.counts for strike in group)
        for wish, group in chord.groups
    )
