"""Bars that a repeat sign divides: two bars, so that the repeat can stand between them.

A repeat or an ending may begin or end inside a measure (MusicXML: a barline at ``middle``). What is
played twice must then be bars of its own; the second piece is not counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.reading.draft import ZERO, MeasureDraft, Placed
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["Cuts", "cut_directions", "split_at_repeats"]

Cuts = dict[int, tuple[Fraction, ...]]
"""Offsets at which measures were cut, by their place in the source."""


def split_at_repeats(
    measures: Sequence[MeasureDraft], notices: Notices
) -> tuple[list[MeasureDraft], Cuts]:
    """Cut measures at the repeats and endings inside them; the bars are numbered anew.

    Where a note sounds across the sign nothing is cut: the sign is then shown as a barline, and
    told.
    """
    cuts: Cuts = {}
    split: list[MeasureDraft] = []
    for measure in measures:
        pieces = [measure]
        offsets: list[Fraction] = []
        for placed in [each for each in measure.barlines if _divides(each.element)]:
            offset = placed.offset - sum(offsets[-1:], ZERO)
            last = pieces[-1]
            if not 0 < offset < last.reach:
                continue
            if any(each.offset < offset < each.end and not each.bar_rest for each in last.events):
                continue
            pieces[-1:] = _cut(last, placed, offset)
            offsets.append(placed.offset)
        if offsets:
            cuts[measure.index] = tuple(offsets)
        split.extend(pieces)
    if cuts:
        for index, measure in enumerate(split):
            measure.index = index
            for event in measure.events:
                event.bar = index
        notices.shift(_new_places(len(measures), cuts))
    return split, cuts


def cut_directions(measures: Sequence[MeasureDraft], cuts: Cuts) -> list[MeasureDraft]:
    """Another part's directions, cut at the same places."""
    split: list[MeasureDraft] = []
    for measure in measures:
        rest = measure
        start = ZERO
        for offset in cuts.get(measure.index, ()):
            first, rest = _halves(rest, offset - start)
            split.append(first)
            start = offset
        split.append(rest)
    return split


def _divides(barline: etree._Element) -> bool:
    return barline.get("location") == "middle" and (
        barline.find("repeat") is not None or barline.find("ending") is not None
    )


def _cut(measure: MeasureDraft, sign: Placed, offset: Fraction) -> list[MeasureDraft]:
    first, second = _halves(measure, offset)
    opens = any(each.get("direction") == "forward" for each in sign.element.findall("repeat"))
    begins = any(each.get("type") == "start" for each in sign.element.findall("ending"))
    sign.element.set("location", "left" if opens or begins else "right")
    (second if opens or begins else first).barlines.append(sign)
    return [first, second]


def _halves(measure: MeasureDraft, offset: Fraction) -> tuple[MeasureDraft, MeasureDraft]:
    first = MeasureDraft(
        measure.index,
        measure.element,
        measure.number,
        measure.implicit,
        time=measure.time,
        new_system=measure.new_system,
        new_page=measure.new_page,
        reach=min(measure.reach, offset),
        sounding_reach=min(measure.sounding_reach, offset),
        staves=measure.staves,
    )
    second = MeasureDraft(
        measure.index,
        measure.element,
        measure.number,
        implicit=True,
        reach=max(measure.reach - offset, ZERO),
        sounding_reach=max(measure.sounding_reach - offset, ZERO),
        staves=measure.staves,
    )
    for event in measure.events:
        # After-notes have not yet found their place, so a grace note goes by where it is written.
        if event.bar_rest:
            first.events.append(event)
            second.events.append(replace(event, id=f"{event.id}-2"))
        elif event.offset < offset:
            first.events.append(event)
        else:
            event.offset -= offset
            second.events.append(event)
    for source, early, late in (
        (measure.directions, first.directions, second.directions),
        (measure.barlines, first.barlines, second.barlines),
    ):
        for placed in source:
            if _divides(placed.element) and placed.offset == offset:
                continue
            at_right = placed.element.get("location", "right") == "right"
            is_end = placed.element.tag == "barline" and at_right
            if placed.offset < offset and not is_end:
                early.append(placed)
            else:
                placed.offset = max(placed.offset - offset, ZERO)
                late.append(placed)
    first.keys = [each for each in measure.keys if each[0] < offset]
    second.keys = [(each[0] - offset, *each[1:]) for each in measure.keys if each[0] >= offset]
    first.clefs = [each for each in measure.clefs if each[0] < offset]
    second.clefs = [(each[0] - offset, *each[1:]) for each in measure.clefs if each[0] >= offset]
    return first, second


def _new_places(count: int, cuts: Cuts) -> list[int]:
    """The new index of each old one."""
    places = []
    shift = 0
    for index in range(count):
        places.append(index + shift)
        shift += len(cuts.get(index, ()))
    return places
