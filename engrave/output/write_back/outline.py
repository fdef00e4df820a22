"""Where in the bytes each bar of a document, and each child of a bar, begins and ends."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from xml.parsers import expat

from pedalsetter.analysis.errors import ScoreError

__all__ = ["Child", "Measure", "find_measures"]

_TAG = re.compile(rb"""<[^>"']*+(?:"[^"]*"[^>"']*+|'[^']*'[^>"']*+)*+>""")
"""A tag from ``<`` to ``>``; an attribute may hold a ``>``."""


@dataclass(slots=True)
class Child:
    """One element directly inside a bar; positions are byte offsets in the UTF-8 text."""

    name: str
    """Without prefix."""
    id: str
    """Its ``id`` or ``xml:id``; empty if it has none."""
    start: int
    end: int = 0
    sign: tuple[int, str] | None = None
    """(start, content) of a processing instruction that stands directly before it."""


@dataclass(slots=True)
class Measure:
    """A ``<measure>``; positions are byte offsets in the UTF-8 text."""

    prefix: str
    """The prefix of its name with its colon; empty for none."""
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


def find_measures(text: bytes, file: str, part: int | None = None) -> list[Measure]:
    """Every ``<measure>`` in document order; ``part`` limits them to one ``<part>`` (from 0).

    A document that the score reader accepts is accepted here too, but for names and the like on
    which the two XML parsers differ. One pass; linear in the size of the document.

    Raises:
        ScoreError: the document is not well-formed.
    """
    scan = _Scan(text, part)
    try:
        scan.parser.Parse(text, True)
    except expat.ExpatError as error:
        raise ScoreError(
            f"the XML is broken: {expat.ErrorString(error.code).lower()}, line {error.lineno}",
            file=file,
            mend="Export the score again from the program that made it.",
        ) from error
    return scan.measures


class _Scan:
    def __init__(self, text: bytes, part: int | None) -> None:
        self.text = text
        self.part = part
        self.parts = 0
        self.measures: list[Measure] = []
        self.depth = 0
        self.measure_depth = 0
        """Depth of the open measure; 0 outside."""
        self.in_part = part is None
        self.sign: tuple[int, int, str] | None = None
        # The declared encoding no longer holds: the text is UTF-8 by now.
        self.parser = expat.ParserCreate("utf-8")
        self.parser.StartElementHandler = self.opened
        self.parser.EndElementHandler = self.closed
        self.parser.ProcessingInstructionHandler = self.instructed

    def opened(self, name: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        if self.measure_depth:
            if self.depth == self.measure_depth + 1:
                start = self.parser.CurrentByteIndex
                identity = attributes.get("xml:id") or attributes.get("id") or ""
                child = Child(name.rpartition(":")[2], identity, start)
                if self.sign is not None and not self.text[self.sign[1] : start].strip():
                    child.sign = (self.sign[0], self.sign[2])
                self.sign = None
                self.measures[-1].children.append(child)
            return
        local = name.rpartition(":")[2]
        if self.part is not None and self.depth == 2 and local == "part":
            self.in_part = self.parts == self.part
            self.parts += 1
        elif self.in_part and local == "measure":
            start = self.parser.CurrentByteIndex
            open_end = self._end_of_tag(start)
            self.measures.append(Measure(name.removesuffix("measure"), start, open_end))
            self.measure_depth = self.depth

    def closed(self, _name: str) -> None:
        if self.measure_depth:
            if self.depth == self.measure_depth + 1:
                child = self.measures[-1].children[-1]
                child.end = self._end_of_tag(self.parser.CurrentByteIndex)
            elif self.depth == self.measure_depth:
                measure = self.measures[-1]
                position = self.parser.CurrentByteIndex
                one_tag = position == measure.start
                measure.close_start = measure.open_end if one_tag else position
                measure.end = measure.open_end if one_tag else self._end_of_tag(position)
                self.measure_depth = 0
        elif self.part is not None and self.depth == 2:
            self.in_part = False
        self.depth -= 1

    def instructed(self, target: str, content: str) -> None:
        if target == "pedalsetter" and self.depth == self.measure_depth:
            start = self.parser.CurrentByteIndex
            self.sign = (start, self.text.index(b"?>", start) + 2, content)

    def _end_of_tag(self, start: int) -> int:
        match = _TAG.match(self.text, start)
        return match.end() if match is not None else start
