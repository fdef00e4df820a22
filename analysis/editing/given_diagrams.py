"""Planned marks in which the source's own diagrams for glissandi keep their place."""

from __future__ import annotations

from dataclasses import replace

from pedalsetter.analysis.collation import glissando_diagrams
from pedalsetter.analysis.marks.marking import Diagram, Markings, Origin, Reason
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan

__all__ = ["with_given_diagrams"]


def with_given_diagrams(part: HarpPart, plan: PedalPlan, markings: Markings) -> Markings:
    """The planned marks, those of the source's diagrams for glissandi among them as its own.

    Such a diagram is printed also where the plan alone would have left it out as nothing new.
    """
    names = glissando_diagrams(part)
    if not names:
        return markings
    diagrams = list(markings.diagrams)
    for mark in part.source_marks:
        if mark.id not in names:
            continue
        place = part.place_of(mark)
        setting = mark.setting()
        known = [
            number
            for number, each in enumerate(diagrams)
            if each.place.bar == mark.bar
            and each.setting == setting
            and (
                part.onset_of(each.place) == mark.onset
                or (place < each.place and each.reason is Reason.GLISSANDO)
            )
        ]
        for number in known:
            diagrams[number] = replace(diagrams[number], origin=Origin.SOURCE)
        taken = any(each.place == place for each in diagrams)
        if not known and not taken and setting is not None and plan.setting_at(place) == setting:
            moved = tuple(each.letter for each in plan.changes if each.place == place)
            diagrams.append(Diagram(place, setting, moved, Reason.GLISSANDO, Origin.SOURCE))
    shown = {diagram.place for diagram in diagrams}
    return replace(
        markings,
        diagrams=tuple(sorted(diagrams, key=lambda each: each.place)),
        changes=tuple(mark for mark in markings.changes if mark.place not in shown),
    )
