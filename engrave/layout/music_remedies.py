"""Remedies for the music: what of it is written otherwise where its contacts are faults.

A dynamic on a line between the staves makes room for itself, a rest on a head goes clear of all
heads of its bar, a letter pushes the barline away, and music that runs into the head or the foot
of a page gets a margin there. Nothing is tried twice but the margins.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.contacts import SLACK, beyond_their_bars
from pedalsetter.engrave.layout.geometry import PageBoxes

__all__ = ["adjust_music"]

_AIR = 0.5
"""Staff spaces of a new margin beyond what was lacking."""


def adjust_music(boxes: PageBoxes, before: Adjustments) -> Adjustments:
    """What the next engraving should have otherwise; ``before`` itself if nothing would help."""
    contacts = boxes.contacts
    music = replace(
        before.music,
        roomy_dynamics=before.music.roomy_dynamics
        | {each.moment for each in contacts if each.what == "DynamicText"},
        moved_rests=before.music.moved_rests
        | {(each.staff, each.moment) for each in contacts if each.what == "Rest"},
    )
    pages = {page.number: page for page in boxes.pages}
    systems = [(line, pages[line.page]) for line in boxes.lines if line.is_system]
    return replace(
        before,
        music=music,
        pushing=before.pushing | {mark.name for mark in beyond_their_bars(boxes)},
        head_room=_grown(before.head_room, (page.head - line.box.top for line, page in systems)),
        foot_room=_grown(before.foot_room, (line.box.bottom - page.foot for line, page in systems)),
    )


def _grown(room: float, lacking: Iterable[float]) -> float:
    """The margin, and what lacks more than the proof allows."""
    most = max(lacking, default=0.0)
    return round(room + most + _AIR, 2) if most > SLACK else room
