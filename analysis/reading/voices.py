"""Voices: one thing at a time in each, whatever the source's numbering.

The rest of the road trusts that the events of one voice in one bar never overlap. Most sources
number so; some use one number on both staves, or write a second voice without a number.
"""

from __future__ import annotations

import itertools
from collections import Counter, defaultdict
from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.reading.draft import EventDraft

__all__ = ["settle_voices"]


def settle_voices(events: Sequence[EventDraft]) -> None:
    """Rename voices in place where two events of one voice would overlap.

    A number that serves two staves at once is split by staff (``1`` and ``1/2``) throughout; what
    still overlaps goes to further voices (``1+``, ``1++`` …). ``events`` in document order.
    """
    by_bar: dict[tuple[int, str], list[EventDraft]] = defaultdict(list)
    for event in events:
        by_bar[event.bar, event.voice].append(event)
    clashes: Counter[str] = Counter()
    crossings: Counter[str] = Counter()
    for (_, voice), members in by_bar.items():
        if len({event.staff for event in members}) > 1:
            (clashes if _overlaps_across_staves(members) else crossings)[voice] += 1
    # One clash in a voice that crosses the staves elsewhere is a slip of that bar alone.
    shared = {voice for voice in clashes if clashes[voice] >= crossings[voice]}
    if shared:
        home = {
            voice: min(event.staff for event in events if event.voice == voice) for voice in shared
        }
        for event in events:
            if event.voice in shared and event.staff != home[event.voice]:
                event.voice = f"{event.voice}/{event.staff}"
        by_bar.clear()
        for event in events:
            by_bar[event.bar, event.voice].append(event)
    for members in by_bar.values():
        _stack(members)


def _overlaps_across_staves(members: list[EventDraft]) -> bool:
    timed = sorted(
        (event for event in members if event.grace is None), key=lambda event: event.offset
    )
    reach: dict[int, Fraction] = {}
    for event in timed:
        for staff, end in reach.items():
            if staff != event.staff and end > event.offset:
                return True
        reach[event.staff] = max(reach.get(event.staff, Fraction(0)), event.end)
    return False


def _stack(members: list[EventDraft]) -> None:
    timed = [event for event in members if event.grace is None]
    in_order = all(first.end <= second.offset for first, second in itertools.pairwise(timed))
    if in_order:
        return
    layers: list[list[EventDraft]] = []
    graces: list[EventDraft] = []
    for event in members:
        if event.grace is not None:
            graces.append(event)
            continue
        place = next(
            (place for place, layer in enumerate(layers) if not _meets(event, layer)), len(layers)
        )
        if place == len(layers):
            layers.append([])
        layers[place].append(event)
        voice = event.voice + "+" * place
        # Grace notes go wherever the note goes that they lead to.
        for grace in graces:
            grace.voice = voice
        graces.clear()
        event.voice = voice


def _meets(event: EventDraft, layer: list[EventDraft]) -> bool:
    return any(other.offset < event.end and event.offset < other.end for other in layer)
