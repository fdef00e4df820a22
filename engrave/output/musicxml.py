"""Marks written back into the user's own MusicXML or MXL document.

Diagrams become ``<harp-pedals>`` and change letters ``<words>``, each in a ``<direction>`` of its
own with an identity that begins with ``pedalsetter-``; every other byte of the document stays.

Sources: MusicXML 4.0, ``direction``, ``harp-pedals`` and ``words``.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path

from lxml import etree

from pedalsetter.analysis.errors import PedalsetterError, ScoreError
from pedalsetter.analysis.marking import ChangeMark, Diagram, Markings
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.analysis.reading.container import is_zip, score_member
from pedalsetter.analysis.reading.harp_part import drop_namespace, score_bytes
from pedalsetter.analysis.reading.limits import DEFAULT_LIMITS, Limits, parse_xml
from pedalsetter.engrave.output.write_back.anchors import Anchor, Anchors
from pedalsetter.engrave.output.write_back.archive import with_member
from pedalsetter.engrave.output.write_back.excerpt import Excerpt, part_excerpt, root_of
from pedalsetter.engrave.output.write_back.markup import (
    Element,
    decimal,
    diagram_of_musicxml,
    in_order,
    rendered,
)
from pedalsetter.engrave.output.write_back.options import (
    DEFAULT_OPTIONS,
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
from pedalsetter.engrave.output.write_back.splice import (
    Edit,
    Layout,
    edited,
    insertions,
)
from pedalsetter.engrave.output.write_back.transcoding import transcoded

__all__ = ["write_back", "write_back_score"]

_FIRST_VERSION_WITH_ID = (3, 1)

_LIKE_OURS = re.compile(PREFIX.encode() + rb"[a-z0-9-]*")


def write_back(
    score: str | os.PathLike[str],
    part: HarpPart,
    markings: Markings,
    options: WriteBackOptions = DEFAULT_OPTIONS,
    *,
    limits: Limits = DEFAULT_LIMITS,
) -> WrittenBack:
    """The document ``score`` with the marks in it; ``part`` and ``markings`` were made from it.

    MusicXML and MXL, partwise, any version and encoding. Marks of an earlier run on the same part
    give way to the new ones, so a second run gives the same bytes; marks of the source stay.
    Nothing is written to disk.

    Raises:
        ScoreError: the file cannot be read, is no partwise MusicXML, or is not the one that
            ``part`` was read from.
    """
    data = score_bytes(score, limits)
    return write_back_score(data, Path(score).name, part, markings, options, limits=limits)


def write_back_score(
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
        if not is_zip(data):
            return _into_document(data, file, part, markings, options, limits)
        name, score = score_member(data, file, limits)
        written = _into_document(score, file, part, markings, options, limits)
        archive = with_member(data, name, written.data, file)
        return WrittenBack(archive, ".mxl", written.marks, written.notices)
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
    text = document.text
    if not text.lstrip().startswith(b"<"):
        raise _no_musicxml(file)
    root = root_of(text, file)
    _check_kind(root[0].rpartition(":")[2], file)
    number = part.source.part_number
    cut = _cut(text, root, number, file)
    measures = find_measures(cut.data, file, cut.shift)
    if any(is_own(child) for measure in measures for child in measure.children):
        text = without_own_marks(text, measures)
        cut = _cut(text, root, number, file)
        measures = find_measures(cut.data, file, cut.shift)
    score = parse_xml(cut.data, file, limits)
    drop_namespace(score)
    element = score.find("part")
    if (
        element is None
        or (element.get("id") or f"P{number}") != part.source.part_id
        or len(measures) != len(element.findall("measure"))
        or any(mark.place.bar >= len(part.bars) for mark in in_order(markings))
    ):
        raise _other_score(file)
    writer = _Writer(part, element, measures, text, options, _version(score))
    writer.write(markings)
    return WrittenBack(
        document.restored(edited(text, writer.edits)),
        ".musicxml",
        writer.marks,
        tuple(writer.notices),
    )


def _check_kind(name: str, file: str) -> None:
    if name == "score-timewise":
        raise ScoreError(
            "the score is timewise (bars that hold parts), and marks go into partwise scores only",
            file=file,
            mend="Export it as partwise MusicXML.",
        )
    if name != "score-partwise":
        raise _no_musicxml(file)


def _no_musicxml(file: str) -> ScoreError:
    return ScoreError("this is no MusicXML score that marks could be written into", file=file)


def _cut(text: bytes, root: tuple[str, int], number: int, file: str) -> Excerpt:
    cut = part_excerpt(text, root, number)
    if cut is None:
        raise _other_score(file)
    return cut


def _other_score(file: str) -> ScoreError:
    return ScoreError("the score is not the one that the marks were made for", file=file)


def _version(root: etree._Element) -> tuple[int, ...]:
    """The document's version of MusicXML; a score that names none is 1.0, says the standard."""
    return tuple(map(int, re.findall(r"\d+", root.get("version", "1.0"))[:2])) or (1, 0)


class _Writer:
    """Gathers the edits of one part."""

    def __init__(
        self,
        part: HarpPart,
        element: etree._Element,
        measures: list[Measure],
        text: bytes,
        options: WriteBackOptions,
        version: tuple[int, ...],
    ) -> None:
        self.part = part
        self.measures = measures
        self.text = text
        self.options = options
        self.with_id = version >= _FIRST_VERSION_WITH_ID
        # Names that look like ours, on elements of the user's or of another part.
        self.taken = frozenset(name.decode() for name in _LIKE_OURS.findall(text))
        staves = [(each.text or "").strip() for each in element.iter("staves")]
        self.staves = max((int(count) for count in staves if count.isdigit()), default=1)
        self.staff = min(options.staff, self.staves)
        self.anchors = Anchors(part, element, self.staff)
        self.edits: list[Edit] = []
        self.notices: list[Notice] = []
        self.marks = 0

    def write(self, markings: Markings) -> None:
        by_bar: dict[int, list[Diagram | ChangeMark]] = {}
        for mark in in_order(markings):
            by_bar.setdefault(mark.place.bar, []).append(mark)
        for bar, of_bar in by_bar.items():
            measure = self.anchors.measure_of(bar)
            if measure is not None:
                self._bar(bar, self.measures[measure], of_bar)
            else:
                self._notice(of_bar[0], "the upper part has no such bar; its marks were left out")

    def _bar(self, bar: int, measure: Measure, marks: list[Diagram | ChangeMark]) -> None:
        free = names(f"p{self.part.source.part_number}-b{bar + 1}", measure, self.taken)
        placed: list[tuple[int | None, Callable[[Layout], str]]] = []
        for mark in marks:
            anchor = self.anchors.find(mark.place)
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

    def _direction(
        self, mark: Diagram | ChangeMark, anchor: Anchor, name: str, prefix: str
    ) -> Callable[[Layout], str]:
        if isinstance(mark, Diagram):
            placement = self.options.diagram_placement
            content = diagram_of_musicxml(mark.setting)
        else:
            placement = self.options.letter_placement
            # One text of several lines: neighbours in a <direction-type> stand side by side, and
            # several directions are stacked in whatever order a program likes.
            letters = "\n".join(change.text for change in mark.changes)
            content = Element("words", (("font-style", "normal"),), letters)
        children = [Element("direction-type", (), (content,))]
        if anchor.offset:
            children.append(Element("offset", (), decimal(anchor.offset)))
        if anchor.voice:
            children.append(Element("voice", (), anchor.voice))
        if self.staves > 1:
            children.append(Element("staff", (), str(self.staff)))
        attributes = [("placement", placement)]
        if self.with_id:
            attributes.append(("id", name))
        direction = Element("direction", tuple(attributes), tuple(children))
        sign = "" if self.with_id else SIGN.format(name.removeprefix(PREFIX))
        return lambda layout: sign + rendered(direction, layout, prefix)

    def _notice(self, mark: Diagram | ChangeMark, what: str) -> None:
        self.notices.append(
            Notice(
                what,
                bar=self.part.printed_bar(mark.place.bar),
                beat=self.part.printed_beat(mark.place),
                staff=self.staff,
            )
        )
