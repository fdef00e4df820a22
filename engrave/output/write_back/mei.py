"""Marks written back into the user's own MEI document.

Diagrams become ``harpPedal`` and change letters ``dir``, each with an ``xml:id`` that begins with
``pedalsetter-``, at the end of their bar, where MEI has its control events; every other byte of the
document stays. An editor's addition has square brackets in its text; a diagram, which has no text,
stands in ``supplied``.

Sources: MEI Guidelines, ``supplied`` (what an editor adds), ``harpPedal`` (all seven attributes are
written, since a missing one reads as natural), ``dir``, and ``tstamp`` (beats of the meter's lower
figure, from 1).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.marks.marking import Diagram, Mark
from pedalsetter.analysis.part import HarpPart, Notice, Place, SourceMark
from pedalsetter.analysis.reading.limits import parse_xml
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.output.write_back.markup import Element, decimal, in_order, rendered
from pedalsetter.engrave.output.write_back.mei_places import XML_ID, mei_places
from pedalsetter.engrave.output.write_back.mei_source_marks import without_mei_source_marks
from pedalsetter.engrave.output.write_back.options import (
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
from pedalsetter.engrave.output.write_back.request import Request
from pedalsetter.engrave.output.write_back.splice import Edit, Layout, edited, insertions
from pedalsetter.engrave.output.write_back.transcoding import transcoded
from pedalsetter.engrave.output.write_back.wording import SMALL, Run, font_of, runs_of

__all__ = ["into_mei"]

_BEAT_PLACES = 5
"""Decimals of a ``tstamp``: a third of a beat is missed by less than any reader's own grid."""

_REASON = "editorial"
"""Why an editor supplies a sign."""


def into_mei(data: bytes, file: str, request: Request) -> WrittenBack:
    """The MEI document with the marks in it.

    Raises:
        ScoreError: the document is no MEI with bars, or not the one that the part was read from.
    """
    part, options = request.part, request.options
    document = transcoded(data, file)
    root = parse_xml(data, file, request.limits, forgiving=True)
    if str(root.tag).rpartition("}")[2] not in ("mei", "music"):
        raise ScoreError("this is no MEI score that marks could be written into", file=file)
    places = mei_places(root, part, min(options.staff, part.staves), file)
    staves = {
        staff: mei_places(root, part, min(staff, part.staves), file).staff
        for staff in {
            options.staff,
            *(options.staff_of(mark) for mark in in_order(request.markings)),
        }
    }
    lowest = mei_places(root, part, part.staves, file).staff
    stem = f"s{places.staff_place}"
    own = f"{PREFIX}{stem}-"
    text = document.text
    measures = find_measures(text, file)
    notices: list[Notice] = []
    if request.replaced:
        text, lost = without_mei_source_marks(text, measures, root, places, request.replaced)
        measures = find_measures(text, file)
        notices += [_not_found(part, mark) for mark in lost]
    if any(is_own(child, own) for measure in measures for child in measure.children):
        text = without_own_marks(text, measures, own)
        measures = find_measures(text, file)
    identities = (element.get(XML_ID, "") for element in root.iter("*"))
    taken = {each for each in identities if each.startswith(PREFIX) and not each.startswith(own)}
    edits: list[Edit] = []
    marks = 0
    for bar, of_bar in request.by_bar(file).items():
        measure = measures[places.measures[bar]]
        free = names(f"{stem}-b{bar + 1}", measure, taken)
        elements_of_bar = [
            _element(mark, part, staves, lowest, options, next(free), measure) for mark in of_bar
        ]
        notices += [_among_graces(part, mark.place) for mark in of_bar if mark.place.grace]
        edits += insertions(text, measure, [(None, each) for each in elements_of_bar])
        marks += len(of_bar)
    return WrittenBack(document.restored(edited(text, edits)), ".mei", marks, tuple(notices))


def _element(
    mark: Mark,
    part: HarpPart,
    staves: Mapping[int, str],
    lowest: str,
    options: WriteBackOptions,
    name: str,
    measure: Measure,
) -> Callable[[Layout], str]:
    unit = part.bars[mark.place.bar].time.count_unit
    identity = (("xml:id", name),)
    place = options.placement_of(mark)
    staff = staves[options.staff_of(mark)]
    common = (
        ("staff", f"{staff} {lowest}" if place == "between" and staff != lowest else staff),
        ("tstamp", decimal(1 + mark.place.offset / unit, _BEAT_PLACES)),
    )
    prefix = measure.prefix
    if isinstance(mark, Diagram) and not options.is_text(mark):
        pedals = tuple(
            (letter.value.lower(), "fns"[int(position) + 1]) for letter, position in mark.setting
        )
        attributes = (*common, ("place", place), *pedals)
        element = Element("harpPedal", (*(() if mark.editorial else identity), *attributes))
        if mark.editorial:
            element = Element("supplied", (*identity, ("reason", _REASON)), (element,))
    else:
        text = "".join(
            _rend(run, mark, options.style, prefix) for run in runs_of(mark, options.style)
        )
        attributes = (*identity, *common, ("place", place))
        element = Element("dir", attributes, text, is_markup=True)
    return lambda layout: rendered(element, layout, prefix)


def _rend(run: Run, mark: Mark, style: HouseStyle | None, prefix: str) -> str:
    """One run of text; directions are italic unless they say otherwise, letters stand upright."""
    attributes = [("fontstyle", "normal")]
    if style is not None:
        font = font_of(mark, style)
        points = font.points * (SMALL if run.small else 1)
        attributes = [
            ("fontfam", font.family),
            ("fontsize", f"{round(points, 1):g}pt"),
            ("fontstyle", "italic" if font.italic else "normal"),
            ("fontweight", "bold" if font.bold else "normal"),
        ]
    if run.ringed:
        attributes.append(("rend", "circle"))
    text = run.text.replace("\n", f"<{prefix}lb/>")
    return rendered(
        Element("rend", tuple(attributes), text, is_markup=True), Layout("", ""), prefix
    )


def _not_found(part: HarpPart, mark: SourceMark) -> Notice:
    place = part.place_of(mark)
    return Notice(
        "a mark of the source could not be found again in the document and stays in it",
        bar=part.printed_bar(mark.bar),
        beat=part.printed_beat(place),
        staff=mark.staff,
    )


def _among_graces(part: HarpPart, place: Place) -> Notice:
    return Notice(
        "a mark among grace notes stands at their main note, since MEI counts in beats",
        bar=part.printed_bar(place.bar),
        beat=part.printed_beat(place),
        staff=1,
    )
