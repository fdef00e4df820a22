"""Putting bytes into a text and taking bytes out, in the layout of what stands around."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from pedalsetter.engrave.output.write_back.outline import Child, Measure

__all__ = [
    "Edit",
    "Layout",
    "at_end",
    "before_child",
    "edited",
    "insertions",
    "space_before",
    "space_behind",
    "without_children",
]

_SPACE = b" \t\r\n"


@dataclass(frozen=True, slots=True)
class Edit:
    """Bytes from ``start`` to ``end`` give way to ``new``."""

    start: int
    end: int
    new: bytes


@dataclass(frozen=True, slots=True)
class Layout:
    """How elements are set out where a mark goes."""

    gap: str
    """Between two neighbours: a line break and the indentation, blanks, or nothing."""
    step: str
    """One level of indentation more."""

    @property
    def line_break(self) -> str:
        """How the document breaks lines."""
        return next((each for each in ("\r\n", "\n", "\r") if each in self.gap), "\n")

    def inside(self, levels: int) -> str:
        """The gap before an element so many levels further in; none where lines are not broken."""
        if "\n" not in self.gap and "\r" not in self.gap:
            return ""
        if levels < 0:
            return self.gap.removesuffix(self.step * -levels)
        return self.gap + self.step * levels


def edited(text: bytes, edits: Iterable[Edit]) -> bytes:
    """``text`` with all edits made; edits at one position are made in the order given."""
    pieces = []
    done = 0
    for edit in sorted(edits, key=lambda each: each.start):
        pieces.append(text[done : edit.start])
        pieces.append(edit.new)
        done = max(done, edit.end)
    pieces.append(text[done:])
    return b"".join(pieces)


def insertions(
    text: bytes, measure: Measure, marks: Iterable[tuple[int | None, Callable[[Layout], str]]]
) -> list[Edit]:
    """The edits that put marks into one bar.

    Each mark is (child that it goes before, or None for the bar's end; how it is written in a
    layout). A bar that is one empty tag is opened for them.
    """
    edits = []
    if measure.is_one_tag:
        edits.append(Edit(measure.open_end - 2, measure.open_end, b">"))
    layout = Layout("", "")
    for child, written in marks:
        if child is None:
            position, layout = at_end(text, measure)
            new = layout.gap + written(layout)
        else:
            position, layout = before_child(text, measure, measure.children[child])
            new = written(layout) + layout.gap
        edits.append(Edit(position, position, new.encode("utf-8")))
    if measure.is_one_tag:
        closing = f"{layout.inside(-1)}</{measure.name}>"
        edits.append(Edit(measure.open_end, measure.open_end, closing.encode("utf-8")))
    return edits


def without_children(text: bytes, measure: Measure, gone: set[int]) -> list[Edit]:
    """The edits that take children out of a bar, with the white space that set them off."""
    edits = []
    last = len(measure.children) - 1
    group: list[int] = []
    for place in range(last + 2):
        if place in gone:
            group.append(place)
            continue
        if group:
            start, end = measure.children[group[0]].start, measure.children[group[-1]].end
            if group[-1] == last and not text[end : measure.close_start].strip():
                edits.append(Edit(space_before(text, start), end, b""))
            else:
                edits += [
                    Edit(
                        measure.children[one].start,
                        space_behind(text, measure.children[one].end),
                        b"",
                    )
                    for one in group
                ]
        group = []
    return edits


def space_before(text: bytes, position: int) -> int:
    """Where the white space begins that ends at ``position``."""
    start = position
    while start and text[start - 1] in _SPACE:
        start -= 1
    return start


def space_behind(text: bytes, position: int) -> int:
    """Where the white space ends that begins at ``position``."""
    end = position
    while end < len(text) and text[end] in _SPACE:
        end += 1
    return end


def before_child(text: bytes, measure: Measure, child: Child) -> tuple[int, Layout]:
    """(position, layout) for elements that go directly before ``child``, each with a gap after.

    A processing instruction that leads the child stays with it.
    """
    position = child.lead
    gap = _last_line(text[space_before(text, position) : position])
    return position, Layout(gap, _step(text, measure, gap))


def at_end(text: bytes, measure: Measure) -> tuple[int, Layout]:
    """(position, layout) for elements that go to the end of a bar, each with a gap before it."""
    position = space_before(text, measure.close_start)
    if measure.children:
        first = measure.children[0].start
        gap = _last_line(text[space_before(text, first) : first])
        return position, Layout(gap, _step(text, measure, gap))
    outer = _indentation(text, measure)
    gap = outer + "  " if "\n" in outer or "\r" in outer else ""
    return position, Layout(gap, "  ")


def _step(text: bytes, measure: Measure, gap: str) -> str:
    outer = _indentation(text, measure)
    return gap.removeprefix(outer) if outer and gap.startswith(outer) else "  "


def _indentation(text: bytes, measure: Measure) -> str:
    return _last_line(text[space_before(text, measure.start) : measure.start])


def _last_line(space: bytes) -> str:
    """The last line break of some white space and what follows it; all if there is none."""
    for line_break in (b"\r\n", b"\n", b"\r"):
        found = space.rfind(line_break)
        if found >= 0:
            return space[found:].decode("ascii")
    return space.decode("ascii")
