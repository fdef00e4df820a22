"""Barlines: styles, repeats, endings, and the signs that stand on them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.part import BarlineStyle, Ending, JumpKind
from pedalsetter.analysis.reading.draft import MeasureDraft, Placed
from pedalsetter.analysis.reading.figures import whole
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["BarlineFacts", "read_barlines"]


@dataclass(slots=True)
class BarlineFacts:
    """What the barlines say about one bar."""

    left: BarlineStyle = BarlineStyle.REGULAR
    right: BarlineStyle = BarlineStyle.REGULAR
    repeat_start: bool = False
    repeat_times: int = 0
    ending: Ending | None = None
    inner: list[tuple[Fraction, BarlineStyle]] = field(default_factory=list)
    fermatas: list[str] = field(default_factory=list)
    jumps: list[tuple[JumpKind, int, str]] = field(default_factory=list)
    """(kind, bar, label) of segno and coda signs that stand on barlines."""


@dataclass(slots=True)
class _OpenEnding:
    numbers: tuple[int, ...]
    text: str
    first: int


def read_barlines(measures: Sequence[MeasureDraft], notices: Notices) -> list[BarlineFacts]:
    """One :class:`BarlineFacts` a bar, endings filled in over all the bars that they cover."""
    facts = [BarlineFacts() for _ in measures]
    open_ending: _OpenEnding | None = None
    for index, measure in enumerate(measures):
        ends: list[Placed] = []
        for placed in measure.barlines:
            location = placed.element.get("location", "right")
            # What holds for all staves is told of the first.
            notices.at(index, placed.offset, placed.half or 1)
            if location == "left":
                open_ending = _left_barline(placed.element, index, facts, open_ending, notices)
            elif location == "middle":
                _middle(placed, facts[index], notices)
            else:
                ends.append(placed)
        if open_ending is not None:
            facts[index].ending = Ending(
                open_ending.numbers,
                open_ending.text,
                starts=open_ending.first == index,
                stops=False,
            )
        for placed in ends:
            open_ending = _right_barline(placed.element, index, facts, open_ending, notices)
    if open_ending is not None:
        notices.at(open_ending.first, None, 1)
        notices.add("an ending's bracket is never closed; it is read to the last bar")
        _close(facts[-1], open_end=True)
    return facts


def _left_barline(
    element: etree._Element,
    index: int,
    facts: list[BarlineFacts],
    open_ending: _OpenEnding | None,
    notices: Notices,
) -> _OpenEnding | None:
    _read_all_but_endings(element, index, facts, notices, at_right=False)
    for ending in element.findall("ending"):
        if ending.get("type") == "start":
            if open_ending is not None:
                notices.add("an ending's bracket is not closed before the next; it is closed there")
                _close(facts[index - 1])
            open_ending = _open(ending, index, notices)
    return open_ending


def _right_barline(
    element: etree._Element,
    index: int,
    facts: list[BarlineFacts],
    open_ending: _OpenEnding | None,
    notices: Notices,
) -> _OpenEnding | None:
    here = facts[index]
    _read_all_but_endings(element, index, facts, notices, at_right=True)
    for ending in element.findall("ending"):
        kind = ending.get("type")
        if kind == "start":
            # Some programs put both ends of a one-bar bracket on the right barline.
            open_ending = _open(ending, index, notices)
            here.ending = Ending(open_ending.numbers, open_ending.text, starts=True, stops=False)
        elif here.ending is None:
            notices.add("the end of an ending without a beginning was left out")
        else:
            _close(here, open_end=kind == "discontinue")
            open_ending = None
    return open_ending


def _read_all_but_endings(
    element: etree._Element,
    index: int,
    facts: list[BarlineFacts],
    notices: Notices,
    *,
    at_right: bool,
) -> None:
    style = _style(element, notices)
    if style is not None and at_right:
        facts[index].right = style
    elif style is not None:
        facts[index].left = style
    _read_repeats(element, index, facts, notices)
    _read_signs(element, index, facts, notices, at_right=at_right)


def _middle(placed: Placed, facts: BarlineFacts, notices: Notices) -> None:
    style = _style(placed.element, notices) or BarlineStyle.REGULAR
    facts.inner.append((placed.offset, style))
    if placed.element.find("repeat") is not None:
        notices.add("a repeat sign inside a bar is shown as a barline and not played")
    if placed.element.find("ending") is not None:
        notices.add("an ending that begins or ends inside a bar was left out")
    if placed.element.find("fermata") is not None:
        notices.add("a fermata on a barline inside a bar was left out")


def _style(element: etree._Element, notices: Notices) -> BarlineStyle | None:
    text = (element.findtext("bar-style") or "").strip()
    if not text:
        return None
    try:
        return BarlineStyle(text)
    except ValueError:
        notices.add(f"a barline of the style '{text}' is shown as a plain one")
        return None


def _read_repeats(
    element: etree._Element, index: int, facts: list[BarlineFacts], notices: Notices
) -> None:
    at_right = element.get("location", "right") != "left"
    for repeat in element.findall("repeat"):
        if repeat.get("direction") == "forward":
            target = index + 1 if at_right else index
            if target < len(facts):
                facts[target].repeat_start = True
        elif repeat.get("direction") == "backward":
            times = whole(repeat.get("times"), 2, least=2, most=99)
            target = index if at_right else index - 1
            if target < 0:
                notices.add("a repeat that ends before the first bar was left out")
                continue
            facts[target].repeat_times = times


def _read_signs(
    element: etree._Element,
    index: int,
    facts: list[BarlineFacts],
    notices: Notices,
    *,
    at_right: bool,
) -> None:
    for child in element:
        tag = child.tag
        if tag == "fermata":
            target = index if at_right else index - 1
            if target >= 0:
                below = child.get("type") == "inverted"
                facts[target].fermatas.append("below" if below else "above")
        elif tag in ("segno", "coda"):
            target = index + 1 if at_right else index
            if target < len(facts):
                kind = JumpKind.SEGNO if tag == "segno" else JumpKind.CODA
                facts[target].jumps.append((kind, target, element.get(str(tag), "")))
        elif tag == "wavy-line":
            notices.add("a wavy line on a barline was left out")


def _open(ending: etree._Element, index: int, notices: Notices) -> _OpenEnding:
    text = " ".join((ending.text or "").split())
    number = ending.get("number", "")
    numbers = _numbers(number) or _numbers(text)
    if not numbers:
        notices.add("an ending without a number is read as the first")
        numbers = (1,)
    if not text:
        text = ", ".join(f"{each}." for each in numbers)
    return _OpenEnding(numbers, text, index)


def _numbers(text: str) -> tuple[int, ...]:
    """The passes named in ``1``, ``1, 2`` or ``1-3``."""
    found: list[int] = []
    for first, last in re.findall(r"(\d{1,2})(?:\s*[-–]\s*(\d{1,2}))?", text):
        found.extend(range(int(first), int(last or first) + 1))
    return tuple(dict.fromkeys(each for each in found if each > 0))


def _close(facts: BarlineFacts, *, open_end: bool = False) -> None:
    if facts.ending is not None:
        ending = facts.ending
        facts.ending = Ending(ending.numbers, ending.text, ending.starts, True, open_end)
