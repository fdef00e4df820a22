"""Marks written back into the user's own MusicXML or MXL document.

Diagrams become ``<harp-pedals>`` and change letters ``<words>``, each in a ``<direction>`` of its
own with an identity that begins with ``pedalsetter-``; every other byte of the document stays.

An editor's addition has square brackets: letters in their text, a diagram by a ``<level>`` whose
``bracket`` asks for them, since no sign but ``harp-pedals`` may stand in its ``<direction-type>``.

Sources: MusicXML 4.0, ``direction``, ``harp-pedals``, ``words`` and ``level``.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from lxml import etree

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.marks.marking import Diagram, Mark
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.analysis.reading.container import is_zip, score_member
from pedalsetter.analysis.reading.harp_part import drop_namespace
from pedalsetter.analysis.reading.limits import Limits, parse_xml
from pedalsetter.analysis.reading.timewise import to_partwise
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.output.write_back.anchors import Anchor, Anchors
from pedalsetter.engrave.output.write_back.archive import with_member
from pedalsetter.engrave.output.write_back.excerpt import DOCTYPE, part_excerpt, root_of
from pedalsetter.engrave.output.write_back.markup import (
    Element,
    decimal,
    diagram_of_musicxml,
    rendered,
)
from pedalsetter.engrave.output.write_back.options import (
    WriteBackOptions,
    WrittenBack,
)
from pedalsetter.engrave.output.write_back.outline import Measure, find_measures
from pedalsetter.engrave.output.write_back.own_marks import (
    PREFIX,
    SIGN,
    is_own,
    names,
    without_own_marks,
)
from pedalsetter.engrave.output.write_back.request import Request, other_score
from pedalsetter.engrave.output.write_back.source_marks import without_source_marks
from pedalsetter.engrave.output.write_back.splice import (
    Edit,
    Layout,
    edited,
    insertions,
)
from pedalsetter.engrave.output.write_back.transcoding import transcoded
from pedalsetter.engrave.output.write_back.wording import SMALL, Run, font_of, runs_of

__all__ = ["into_musicxml"]

_FIRST_VERSION_WITH_ID = (3, 1)

EDITORIAL = "editorial"
"""What the ``<level>`` of an editor's addition says."""

_LIKE_OURS = re.compile(PREFIX.encode() + rb"[a-z0-9-]*")


def into_musicxml(data: bytes, file: str, request: Request) -> WrittenBack:
    """The MusicXML or MXL file with the marks in it: partwise and timewise, any version.

    Raises:
        ScoreError: the file is no MusicXML, or not the one that the part was read from.
    """
    if not is_zip(data):
        return _into_document(data, file, request)
    name, score = score_member(data, file, request.limits)
    written = _into_document(score, file, request)
    archive = with_member(data, name, written.data, file)
    return WrittenBack(archive, ".mxl", written.marks, written.notices)


def _into_document(data: bytes, file: str, request: Request) -> WrittenBack:
    document = transcoded(data, file)
    text = document.text
    if not text.lstrip().startswith(b"<"):
        raise _no_musicxml(file)
    root = root_of(text, file)
    _check_kind(root[0].rpartition(":")[2], file)
    number = request.part.source.part_number
    open_part = _OpenPart.of(text, root, number, file, request.limits)
    if any(is_own(child) for measure in open_part.measures for child in measure.children):
        text = without_own_marks(text, open_part.measures)
        open_part = _OpenPart.of(text, root, number, file, request.limits)
    if request.replaced:
        text = _without_source_marks(text, root, file, request)
        open_part = _OpenPart.of(text, root, number, file, request.limits)
    if open_part.id != request.part.source.part_id:
        raise other_score(file)
    by_bar = request.by_bar(file)
    writer = _Writer(request.part, open_part, text, request.options)
    writer.write(by_bar)
    return WrittenBack(
        document.restored(edited(text, writer.edits)),
        ".musicxml",
        writer.marks,
        tuple(writer.notices),
    )


@dataclass(frozen=True, slots=True)
class _OpenPart:
    """One part of a text: parsed, and where in the bytes its bars are."""

    id: str
    element: etree._Element
    measures: list[Measure]
    version: tuple[int, ...]

    @classmethod
    def of(
        cls, text: bytes, root: tuple[str, int], number: int, file: str, limits: Limits
    ) -> _OpenPart:
        """The part of that number, from 1.

        Raises:
            ScoreError: there is none.
        """
        if root[0].rpartition(":")[2] == "score-timewise":
            return cls._of_timewise(text, root[1], number, file, limits)
        cut = part_excerpt(text, root, number)
        if cut is None:
            raise other_score(file)
        measures = find_measures(cut.data, file, cut.shift)
        score = parse_xml(cut.data, file, limits)
        drop_namespace(score)
        element = score.find("part")
        if element is None or len(measures) != len(element.findall("measure")):
            raise other_score(file)
        return cls(element.get("id") or f"P{number}", element, measures, _version(score))

    @classmethod
    def _of_timewise(
        cls, text: bytes, start: int, number: int, file: str, limits: Limits
    ) -> _OpenPart:
        """The same where each bar holds all parts; its element is turned as the reader turns it."""
        score = parse_xml(DOCTYPE + text[start:], file, limits)
        drop_namespace(score)
        version = _version(score)
        parts = to_partwise(score).findall("part")
        if number > len(parts):
            raise other_score(file)
        element = parts[number - 1]
        identity = element.get("id", "")
        bars = find_measures(text, file, element="part")
        measures = [bar for bar in bars if bar.id == identity]
        if len(measures) != len(element.findall("measure")):
            raise other_score(file)
        return cls(identity or f"P{number}", element, measures, version)


def _without_source_marks(text: bytes, root: tuple[str, int], file: str, request: Request) -> bytes:
    """The text without the marks that are replaced.

    They stand in the part itself, or where a harp is written as two parts, in the other one.
    """
    left = {mark.id: mark for mark in request.replaced}
    first = request.part.source.part_number
    for number in itertools.chain((first,), itertools.count(1)):
        part = _OpenPart.of(text, root, number, file, request.limits)
        text, found = without_source_marks(
            text, part.measures, part.element, part.id, left.values()
        )
        left = {name: mark for name, mark in left.items() if name not in found}
        if not left:
            break
    return text


def _check_kind(name: str, file: str) -> None:
    if name not in ("score-partwise", "score-timewise"):
        raise _no_musicxml(file)


def _no_musicxml(file: str) -> ScoreError:
    return ScoreError("this is no MusicXML score that marks could be written into", file=file)


def _version(root: etree._Element) -> tuple[int, ...]:
    """The document's version of MusicXML; a score that names none is 1.0, says the standard."""
    return tuple(map(int, re.findall(r"\d+", root.get("version", "1.0"))[:2])) or (1, 0)


class _Writer:
    """Gathers the edits of one part."""

    def __init__(
        self, part: HarpPart, opened: _OpenPart, text: bytes, options: WriteBackOptions
    ) -> None:
        self.part = part
        self.measures = opened.measures
        self.text = text
        self.options = options
        self.with_id = opened.version >= _FIRST_VERSION_WITH_ID
        # Names that look like ours, on elements of the user's or of another part.
        self.taken = frozenset(name.decode() for name in _LIKE_OURS.findall(text))
        staves = [(each.text or "").strip() for each in opened.element.iter("staves")]
        self.staves = max((int(count) for count in staves if count.isdigit()), default=1)
        self.anchors = {1: Anchors(part, opened.element, 1)}
        self.element = opened.element
        self.edits: list[Edit] = []
        self.notices: list[Notice] = []
        self.marks = 0

    def write(self, by_bar: Mapping[int, Sequence[Mark]]) -> None:
        for bar, of_bar in by_bar.items():
            measure = self.anchors[1].measure_of(bar)
            if measure is not None:
                self._bar(bar, self.measures[measure], of_bar)
            else:
                self._notice(of_bar[0], "the upper part has no such bar; its marks were left out")

    def _bar(self, bar: int, measure: Measure, marks: Sequence[Mark]) -> None:
        free = names(f"p{self.part.source.part_number}-b{bar + 1}", measure, self.taken)
        placed: list[tuple[int | None, Callable[[Layout], str]]] = []
        for mark in marks:
            anchor = self._anchors(self._staff(mark)).find(mark.place)
            if anchor.missed:
                self._notice(
                    mark,
                    "the divisions of the source are too coarse for the place of a mark; "
                    "it was put at the nearest one",
                )
            direction = self._direction(mark, anchor, next(free), measure.prefix)
            placed.append((anchor.child, direction))
        self.edits += insertions(self.text, measure, placed)
        self.marks += len(placed)

    def _anchors(self, staff: int) -> Anchors:
        if staff not in self.anchors:
            self.anchors[staff] = Anchors(self.part, self.element, staff)
        return self.anchors[staff]

    def _direction(
        self, mark: Mark, anchor: Anchor, name: str, prefix: str
    ) -> Callable[[Layout], str]:
        style = self.options.style
        if isinstance(mark, Diagram) and not self.options.is_text(mark):
            # A size is all that the standard has for its look; rings it has none.
            font = None if style is None else font_of(mark, style)
            size = () if font is None else (("font-size", f"{font.points:g}"),)
            diagram = replace(diagram_of_musicxml(mark.setting), attributes=size)
            content: tuple[Element, ...] = (diagram,)
        else:
            # One text of several lines: neighbours in a <direction-type> stand side by side, and
            # several directions are stacked in whatever order a program likes.
            content = tuple(_words(run, mark, style) for run in runs_of(mark, style))
        children = [Element("direction-type", (), content)]
        if anchor.offset:
            children.append(Element("offset", (), decimal(anchor.offset)))
        if mark.editorial:
            # A diagram has no text that could hold brackets; this is what the standard has for
            # signs that an editor has added. Letters have theirs in the text, where all see them.
            brackets = () if self.options.is_text(mark) else _level_of(style)
            children.append(Element("level", brackets, EDITORIAL))
        if anchor.voice:
            children.append(Element("voice", (), anchor.voice))
        if self.staves > 1:
            children.append(Element("staff", (), str(self._staff(mark))))
        placement = self.options.placement_of(mark)
        # What stands between two staves stands below the upper one.
        attributes = [("placement", "below" if placement == "between" else placement)]
        if self.with_id:
            attributes.append(("id", name))
        direction = Element("direction", tuple(attributes), tuple(children))
        sign = "" if self.with_id else SIGN.format(name.removeprefix(PREFIX))
        return lambda layout: sign + rendered(direction, layout, prefix)

    def _notice(self, mark: Mark, what: str) -> None:
        self.notices.append(
            Notice(
                what,
                bar=self.part.printed_bar(mark.place.bar),
                beat=self.part.printed_beat(mark.place),
                staff=self._staff(mark),
            )
        )

    def _staff(self, mark: Mark) -> int:
        """The staff of a mark, as far as the part has so many."""
        return min(self.options.staff_of(mark), self.staves)


def _words(run: Run, mark: Mark, style: HouseStyle | None) -> Element:
    """One ``<words>``; letters of pedals stand upright unless a style says otherwise."""
    attributes = [("font-style", "normal")]
    if style is not None:
        font = font_of(mark, style)
        points = font.points * (SMALL if run.small else 1)
        attributes = [
            ("font-family", font.family),
            ("font-style", "italic" if font.italic else "normal"),
            ("font-size", f"{round(points, 1):g}"),
            ("font-weight", "bold" if font.bold else "normal"),
        ]
    if run.ringed:
        attributes.append(("enclosure", "circle"))
    if run.text != run.text.strip():
        attributes.append(("xml:space", "preserve"))
    return Element("words", tuple(attributes), run.text)


def _level_of(style: HouseStyle | None) -> tuple[tuple[str, str], ...]:
    """What an editor's diagram has for brackets."""
    brackets = "square" if style is None else style.brackets
    return {
        "square": (("bracket", "yes"),),
        "round": (("parentheses", "yes"),),
        "small": (("size", "cue"),),
    }[brackets]
