"""Marks written back into the user's own MEI document.

Diagrams become ``harpPedal`` and change letters ``dir``, each with an ``xml:id`` that begins with
``pedalsetter-``, at the end of their bar, where MEI has its control events; every other byte of the
document stays.

Sources: MEI Guidelines, ``harpPedal`` (all seven attributes are written, since a missing one reads
as natural), ``dir``, and ``tstamp`` (beats of the meter's lower figure, from 1).
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from pedalsetter.analysis.errors import PedalsetterError, ScoreError
from pedalsetter.analysis.marking import ChangeMark, Diagram, Markings
from pedalsetter.analysis.part import HarpPart, Notice, Place
from pedalsetter.analysis.reading.harp_part import score_bytes
from pedalsetter.analysis.reading.limits import DEFAULT_LIMITS, Limits, parse_xml
from pedalsetter.engrave.output.write_back.markup import Element, decimal, in_order, rendered
from pedalsetter.engrave.output.write_back.mei_places import XML_ID, mei_places
from pedalsetter.engrave.output.write_back.options import (
    DEFAULT_OPTIONS,
    WriteBackOptions,
    WrittenBack,
)
from pedalsetter.engrave.output.write_back.outline import Measure, find_measures
from pedalsetter.engrave.output.write_back.own_marks import (
    PREFIX,
    is_own,
    names,
    without_own_marks,
)
from pedalsetter.engrave.output.write_back.splice import Edit, Layout, edited, insertions
from pedalsetter.engrave.output.write_back.transcoding import transcoded

__all__ = ["write_back_mei", "write_back_mei_score"]

_BEAT_PLACES = 5
"""Decimals of a ``tstamp``: a third of a beat is missed by less than any reader's own grid."""


def write_back_mei(
    score: str | os.PathLike[str],
    part: HarpPart,
    markings: Markings,
    options: WriteBackOptions = DEFAULT_OPTIONS,
    *,
    limits: Limits = DEFAULT_LIMITS,
) -> WrittenBack:
    """The MEI document ``score`` with the marks in it, as ``write_back`` does it for MusicXML.

    Raises:
        ScoreError: the file cannot be read, is no MEI with bars, or is not the one that ``part``
            was read from.
    """
    data = score_bytes(score, limits)
    return write_back_mei_score(data, Path(score).name, part, markings, options, limits=limits)


def write_back_mei_score(
    data: bytes,
    file: str,
    part: HarpPart,
    markings: Markings,
    options: WriteBackOptions = DEFAULT_OPTIONS,
    *,
    limits: Limits = DEFAULT_LIMITS,
) -> WrittenBack:
    """The same for a document given as bytes; ``file`` names it in messages."""
    try:
        return _into_document(data, file, part, markings, options, limits)
    except PedalsetterError as error:
        raise error.in_file(file) from error.__cause__


def _into_document(
    data: bytes,
    file: str,
    part: HarpPart,
    markings: Markings,
    options: WriteBackOptions,
    limits: Limits,
) -> WrittenBack:
    document = transcoded(data, file)
    root = parse_xml(data, file, limits, forgiving=True)
    if str(root.tag).rpartition("}")[2] not in ("mei", "music"):
        raise ScoreError("this is no MEI score that marks could be written into", file=file)
    places = mei_places(root, part, min(options.staff, part.staves), file)
    stem = f"s{places.staff_place}"
    own = f"{PREFIX}{stem}-"
    text = document.text
    measures = find_measures(text, file)
    if any(is_own(child, own) for measure in measures for child in measure.children):
        text = without_own_marks(text, measures, own)
        measures = find_measures(text, file)
    identities = (element.get(XML_ID, "") for element in root.iter("*"))
    taken = {each for each in identities if each.startswith(PREFIX) and not each.startswith(own)}
    edits: list[Edit] = []
    notices: list[Notice] = []
    marks = in_order(markings)
    if any(mark.place.bar >= len(part.bars) for mark in marks):
        raise ScoreError("the score is not the one that the marks were made for", file=file)
    by_bar: dict[int, list[Diagram | ChangeMark]] = {}
    for mark in marks:
        by_bar.setdefault(mark.place.bar, []).append(mark)
        if mark.place.grace:
            notices.append(_among_graces(part, mark.place))
    for bar, of_bar in by_bar.items():
        measure = measures[places.measures[bar]]
        free = names(f"{stem}-b{bar + 1}", measure, taken)
        elements_of_bar = [
            _element(mark, part, places.staff, options, next(free), measure) for mark in of_bar
        ]
        edits += insertions(text, measure, [(None, each) for each in elements_of_bar])
    return WrittenBack(document.restored(edited(text, edits)), ".mei", len(marks), tuple(notices))


def _element(
    mark: Diagram | ChangeMark,
    part: HarpPart,
    staff: str,
    options: WriteBackOptions,
    name: str,
    measure: Measure,
) -> Callable[[Layout], str]:
    unit = part.bars[mark.place.bar].time.count_unit
    common = (
        ("xml:id", name),
        ("staff", staff),
        ("tstamp", decimal(1 + mark.place.offset / unit, _BEAT_PLACES)),
    )
    prefix = measure.prefix
    if isinstance(mark, Diagram):
        pedals = tuple(
            (letter.value.lower(), "fns"[int(position) + 1]) for letter, position in mark.setting
        )
        element = Element("harpPedal", (*common, ("place", options.diagram_placement), *pedals))
    else:
        letters = f"<{prefix}lb/>".join(change.text for change in mark.changes)
        # Directions are italic unless they say otherwise; letters of pedals stand upright.
        upright = Element("rend", (("fontstyle", "normal"),), letters, is_markup=True)
        text = rendered(upright, Layout("", ""), prefix)
        element = Element(
            "dir", (*common, ("place", options.letter_placement)), text, is_markup=True
        )
    return lambda layout: rendered(element, layout, prefix)


def _among_graces(part: HarpPart, place: Place) -> Notice:
    return Notice(
        "a mark among grace notes stands at their main note, since MEI counts in beats",
        bar=part.printed_bar(place.bar),
        beat=part.printed_beat(place),
        staff=1,
    )
