"""What an independent renderer prints of a score: things by bar and staff, out of verovio's SVG."""

from __future__ import annotations

from collections import Counter

import verovio
from lxml import etree

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.layout.geometry import PageBoxes

__all__ = ["KINDS", "by_bar", "crossing_bars", "differences", "hiding_bars", "of_verovio"]

KINDS = {
    "notehead": "NoteHead",
    "beam": "Beam",
    "slur": "Slur",
    "tie": "Tie",
    "dynam": "DynamicText",
    "rest": "Rest",
    "flag": "Flag",
    "accid": "Accidental",
    "syl": "LyricText",
    "fing": "Fingering",
    "tempo": "MetronomeMark",
}
"""Verovio's classes, and LilyPond's names for the same; heads are counted by staves too."""

_SAME = {
    "PhrasingSlur": "Slur",
    "AccidentalCautionary": "Accidental",
}
"""LilyPond's other names."""

_SVG = "{http://www.w3.org/2000/svg}"


def of_verovio(data: bytes) -> Counter[tuple[str, int, int]]:
    """How many of each thing (LilyPond's name, bar from 0, staff or 0) verovio prints."""
    toolkit = verovio.toolkit()
    toolkit.setOptions({"breaks": "none", "adjustPageHeight": True, "header": "none"})
    toolkit.loadData(data.decode("utf-8"))
    root = etree.fromstring(toolkit.renderToSVG(1).encode("utf-8"))
    found: Counter[tuple[str, int, int]] = Counter()
    measures = [each for each in root.iter(f"{_SVG}g") if each.get("class") == "measure"]
    for bar, measure in enumerate(measures):
        staves = [each for each in measure if each.get("class") == "staff"]
        for thing in measure.iter(f"{_SVG}g"):
            name = KINDS.get((thing.get("class") or "").split(" ")[0])
            if name is None or not len(thing):
                continue
            owner = next((each for each in thing.iterancestors() if each in staves), None)
            staff = staves.index(owner) + 1 if name == "NoteHead" and owner is not None else 0
            found[name, bar, staff] += 1
    return found


def by_bar(part: HarpPart, boxes: PageBoxes) -> Counter[tuple[str, int, int]]:
    """The same of our own page."""
    found: Counter[tuple[str, int, int]] = Counter()
    for count in boxes.counts:
        name = _SAME.get(count.kind, count.kind)
        if name not in KINDS.values():
            continue
        bar = max(bar.index for bar in part.bars if bar.start <= count.moment)
        found[name, bar, count.staff if name == "NoteHead" else 0] += count.number
    return found


def crossing_bars(part: HarpPart) -> frozenset[int]:
    """Bars in which a voice stands on both staves.

    Verovio files each note under the staff of its voice, wherever it prints it, and makes no group
    of a beam from staff to staff, so that these bars cannot be compared.
    """
    staves: dict[tuple[int, str], set[int]] = {}
    for event in part.events:
        if event.heads:
            voice = event.voice.split("&")[0]
            staves.setdefault((event.bar, voice), set()).add(event.staff)
    return frozenset(bar for (bar, _), found in staves.items() if len(found) > 1)


def hiding_bars(data: bytes) -> frozenset[int]:
    """Bars of a score of one part in which the source hides something: verovio prints it."""
    measures = data.split(b"<measure ")[1:]
    return frozenset(bar for bar, text in enumerate(measures) if b'print-object="no"' in text)


def differences(
    part: HarpPart, boxes: PageBoxes, data: bytes
) -> dict[tuple[str, int, int], tuple[int, int]]:
    """(verovio's number, ours) of whatever differs, bars in which voices cross left aside.

    Bars with something hidden are left aside too, and the accidentals of a score that writes none:
    verovio prints those alone that are written.
    """
    theirs, ours = of_verovio(data), by_bar(part, boxes)
    aside = crossing_bars(part) | hiding_bars(data)
    unwritten = {"Accidental"} if b"<accidental" not in data else set()
    return {
        key: (theirs[key], ours[key])
        for key in sorted(set(theirs) | set(ours))
        if theirs[key] != ours[key] and key[1] not in aside and key[0] not in unwritten
    }
