"""Where in the bytes each bar of a document, and each child of a bar, begins and ends."""

from __future__ import annotations

from dataclasses import dataclass, field
from xml.parsers import expat

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.engrave.output.write_back.excerpt import DOCTYPE, tag_end

__all__ = ["Child", "Measure", "bar_element", "find_children", "find_measures"]


@dataclass(slots=True)
class Child:
    """One element directly inside a bar; positions are byte offsets in the UTF-8 text."""

    name: str
    """Without prefix."""
    id: str
    """Its ``id`` or ``xml:id``; empty if it has none."""
    start: int
    end: int = 0
    lead: int = 0
    """Where the processing instructions begin that stand directly before it; else its start."""
    sign: tuple[int, str] | None = None
    """(start, content) of the last of them, if it is one of ours."""


@dataclass(slots=True)
class Measure:
    """One bar of one part; positions are byte offsets in the UTF-8 text.

    That is a ``<measure>``, or in a timewise score a ``<part>`` inside of one.
    """

    name: str
    """Of its element, with prefix."""
    id: str
    """Its ``id``: in a timewise score that of the part."""
    start: int
    open_end: int
    """Just behind the ``>`` of its start tag."""
    close_start: int = 0
    """At its end tag; the same as ``open_end`` where start and end are one tag."""
    end: int = 0
    children: list[Child] = field(default_factory=list)

    @property
    def is_one_tag(self) -> bool:
        """Whether it is written ``<measure/>``."""
        return self.end == self.open_end

    @property
    def prefix(self) -> str:
        """The prefix of its name with its colon; empty for none."""
        return "".join(self.name.rpartition(":")[:2])


def bar_element(root: str) -> str:
    """The element that holds one bar of one part, by the document's root (without prefix)."""
    return "part" if root == "score-timewise" else "measure"


def find_measures(
    data: bytes, file: str, shift: int = 0, element: str = "measure"
) -> list[Measure]:
    """Every ``<measure>`` of a UTF-8 document, in its order, or every other such ``element``.

    ``shift`` is added to all positions. One pass; linear in the size of the document.

    Raises:
        ScoreError: the document is not well-formed.
    """
    scan = _Scan(data, shift, element)
    try:
        scan.parser.Parse(data, True)
    except expat.ExpatError as error:
        raise ScoreError(
            f"the XML is broken: {expat.ErrorString(error.code).lower()}, line {error.lineno}",
            file=file,
            mend="Export the score again from the program that made it.",
        ) from error
    return scan.measures


def find_children(element: bytes, name: str, start: int) -> list[Child]:
    """The elements directly inside one element that was cut out of a well-formed document.

    ``name`` is the element's own, without prefix, and ``start`` where it began.
    """
    scan = _Scan(DOCTYPE + element, start - len(DOCTYPE), name)
    scan.parser.Parse(scan.data, True)
    return scan.measures[0].children


class _Scan:
    def __init__(self, data: bytes, shift: int, wanted: str) -> None:
        self.data = data
        self.shift = shift
        self.wanted = wanted
        self.measures: list[Measure] = []
        self.depth = 0
        self.measure_depth = 0
        """Depth of the open measure; 0 outside."""
        self.leading: list[tuple[int, int, str, str]] = []
        """(start, end, target, content) of processing instructions since the last child."""
        # The declared encoding no longer holds: the text is UTF-8 by now.
        self.parser = expat.ParserCreate("utf-8")
        self.parser.StartElementHandler = self.opened
        self.parser.EndElementHandler = self.closed
        self.parser.ProcessingInstructionHandler = self.instructed

    def opened(self, name: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        if self.measure_depth:
            if self.depth == self.measure_depth + 1:
                self._child(name, attributes)
        elif name.endswith(self.wanted) and name.rpartition(":")[2] == self.wanted:
            start = self.parser.CurrentByteIndex
            open_end = tag_end(self.data, start)
            identity = attributes.get("id", "")
            self.measures.append(Measure(name, identity, start + self.shift, open_end + self.shift))
            self.measure_depth = self.depth

    def _child(self, name: str, attributes: dict[str, str]) -> None:
        start = self.parser.CurrentByteIndex
        identity = attributes.get("xml:id") or attributes.get("id") or ""
        child = Child(name.rpartition(":")[2], identity, start + self.shift)
        before = start
        for begin, end, target, content in reversed(self.leading):
            if self.data[end:before].strip():
                break
            if before == start and target == "pedalsetter":
                child.sign = (begin + self.shift, content)
            before = begin
        child.lead = before + self.shift
        self.leading.clear()
        self.measures[-1].children.append(child)

    def closed(self, _name: str) -> None:
        if self.measure_depth:
            if self.depth == self.measure_depth + 1:
                child = self.measures[-1].children[-1]
                child.end = self._closing(child.start)[1]
            elif self.depth == self.measure_depth:
                measure = self.measures[-1]
                measure.close_start, measure.end = self._closing(measure.start)
                self.measure_depth = 0
                self.leading.clear()
        self.depth -= 1

    def _closing(self, start: int) -> tuple[int, int]:
        """(where the content ends, where the element ends) of an element, once it is closed."""
        open_end = tag_end(self.data, start - self.shift)
        if self.data[open_end - 2 : open_end] == b"/>":
            # The parser calls for such a tag from behind it, where anything may stand.
            return open_end + self.shift, open_end + self.shift
        position = self.parser.CurrentByteIndex
        return position + self.shift, tag_end(self.data, position) + self.shift

    def instructed(self, target: str, content: str) -> None:
        if self.measure_depth and self.depth == self.measure_depth:
            start = self.parser.CurrentByteIndex
            end = self.data.index(b"?>", start) + 2
            self.leading.append((start, end, target, content))
