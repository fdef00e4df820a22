"""The timing lane: signatures, real bar lengths, numbers, barlines, repeats and endings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from pedalsetter.analysis.part import Bar, BarlineStyle, Ending, HarpPart, TimeSignature
from pedalsetter.engrave.notation import engraver_score as es
from pedalsetter.engrave.notation.lane import Lane
from pedalsetter.engrave.notation.sheet import Notices
from pedalsetter.engrave.notation.timeline import BarUnit, grace_skips

__all__ = ["build_timing_lane"]

_BARS = {
    BarlineStyle.DOTTED: ";",
    BarlineStyle.DASHED: "!",
    BarlineStyle.HEAVY: ".",
    BarlineStyle.DOUBLE: "||",
    BarlineStyle.FINAL: "|.",
    BarlineStyle.HEAVY_LIGHT: ".|",
    BarlineStyle.HEAVY_HEAVY: "..",
    BarlineStyle.TICK: "'",
    BarlineStyle.SHORT: ",",
    BarlineStyle.NONE: "",
    BarlineStyle.REGULAR: "|",
}
"""MusicXML's barlines by LilyPond's names (Notation Reference, "Bar lines")."""

_GLYPHS = {
    "common": ((((4,), 4),), "timesig.C44"),
    "cut": ((((2,), 2),), "timesig.C22"),
}
"""Signs of a time signature: the one that the engraver prints so by itself, and the glyph."""

_PLAIN_ENDING = re.compile(r"[0-9.,:\-–— ]*\Z")


def build_timing_lane(
    part: HarpPart,
    units: Sequence[BarUnit],
    notices: Notices,
    *,
    source_systems: bool = False,
) -> Any:
    """The ``TimingLane`` context; with ``source_systems`` lines break where the source's do.

    It must stand before all other contexts, so that a signature is in force before the first note
    under it.
    """
    lane = Lane(part)
    firsts = {unit.first: unit for unit in units}
    counted = 1
    measure = Fraction(4)
    time: TimeSignature | None = None
    is_open = bracket_ends = False
    for bar in part.bars:
        unit = firsts.get(bar.index)
        if unit is None:
            counted += 1
            continue
        commands: list[str] = []
        if bar.index and bar.movement != part.bars[bar.index - 1].movement:
            commands.append(r"\break")
        elif source_systems and bar.index and (bar.new_page or bar.new_system):
            commands.append(r"\pageBreak" if bar.new_page else r"\break")
        if bar.time != time:
            commands += _signature(bar.time)
            time, measure = bar.time, bar.time.length
        if bar.length not in (measure, 0):
            measure = bar.length
            commands.append(rf"\set Timing.measureLength = {_moment(measure)}")
        number = _number(bar.number, counted)
        if number != counted:
            commands.append(rf"\set Score.currentBarNumber = #{number}")
        counted = number + 1
        orders = []
        if is_open and (bracket_ends or (bar.ending is not None and bar.ending.starts)):
            orders.append("(volta #f)")
            is_open = False
        if bar.ending is not None and bar.ending.starts:
            orders.append(f'(volta "{_ending_text(bar, bar.ending, notices)}")')
            is_open = True
        if orders:
            commands.append(rf"\set Score.repeatCommands = #'({' '.join(orders)})")
        bracket_ends = bar.ending is not None and bar.ending.stops
        left = _opening_barline(bar)
        if left and bar.index == 0:
            commands.append(rf'\bar "{left}"')
        for text in commands:
            lane.command(bar.index, Fraction(0), text)
        for offset, style in bar.inner_barlines:
            lane.command(bar.index, offset, rf'\bar "{_BARS[style]}"')
    for unit in units:
        last = part.bars[unit.last]
        following = part.bars[unit.last + 1] if unit.last + 1 < len(part.bars) else None
        sign = _barline(last, following)
        if sign is not None:
            lane.close(unit.last, rf'\bar "{sign}"')
        if following is None and is_open:
            lane.close(unit.last, r"\set Score.repeatCommands = #'((volta #f))")
    opening = [
        r"\set Score.skipBars = ##t",
        r"\override Score.MultiMeasureRest.expand-limit = #1",
    ]
    return es.context("TimingLane", "timing", lane.bars(units, grace_skips(part)), opening=opening)


def _number(printed: str, counted: int) -> int:
    """The number that the engraver would print, were a line to begin here.

    A bar without a number of its own (``X1``, ``12a``) belongs to the one before it.
    """
    figures = re.match(r"[0-9]{1,6}", printed)
    return int(figures[0]) if figures else max(counted - 1, 0)


def _moment(quarters: Fraction) -> str:
    whole = quarters / 4
    return f"#(ly:make-moment {whole.numerator}/{whole.denominator})"


def _signature(time: TimeSignature) -> list[str]:
    commands = []
    first_beats, first_kind = time.groups[0]
    if time.symbol == "none":
        commands.append(r"\once \omit Score.TimeSignature")
    elif time.symbol == "single-number":
        commands.append(r"\once \override Score.TimeSignature.style = #'single-digit")
    elif time.symbol in _GLYPHS and time.groups != _GLYPHS[time.symbol][0]:
        # the engraver has these signs for 4/4 and 2/2 alone
        commands += [
            r"\once \override Score.TimeSignature.stencil = #ly:text-interface::print",
            r"\once \override Score.TimeSignature.text = "
            rf'\markup \musicglyph "{_GLYPHS[time.symbol][1]}"',
        ]
    elif time.symbol == "normal":
        commands.append(r"\once \override Score.TimeSignature.style = #'numbered")
    if len(time.groups) > 1 or len(first_beats) > 1:
        inner = " ".join(f"({' '.join(map(str, beats))} {kind})" for beats, kind in time.groups)
        commands.append(rf"\compoundMeter #'({inner})")
    else:
        commands.append(rf"\time {first_beats[0]}/{first_kind}")
    return commands


def _opening_barline(bar: Bar) -> str:
    if bar.repeat_start:
        return ".|:"
    return "" if bar.left is BarlineStyle.REGULAR else _BARS[bar.left]


def _barline(bar: Bar, following: Bar | None) -> str | None:
    """The barline between two bars, or None for an ordinary one."""
    opens = following is not None and following.repeat_start
    if bar.repeat_times and opens:
        return ":|.|:"
    if bar.repeat_times:
        return ":|."
    if opens:
        return ".|:-||" if bar.right is BarlineStyle.DOUBLE else ".|:"
    if bar.right is not BarlineStyle.REGULAR:
        return _BARS[bar.right]
    if following is not None and following.left is not BarlineStyle.REGULAR:
        return _BARS[following.left]
    return None


def _ending_text(bar: Bar, ending: Ending, notices: Notices) -> str:
    """Figures and points only: the text enters Scheme, where nothing else may come in."""
    text = ending.text.strip()
    if text and _PLAIN_ENDING.match(text):
        return text
    if text:
        notices.here(bar.index, bar.start, None, "an ending is printed by number")
    return ", ".join(f"{number}." for number in ending.numbers)
