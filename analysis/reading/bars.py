"""Bars: how long each really is, and what stands around it.

A bar is as long as what is written in it, whatever its signature says: pickups, bars split by a
repeat, and cadenzas. Only where the harp has nothing, or less than the signature asks for, the
other parts of the score are asked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from pedalsetter.analysis.part import Bar, BarlineStyle, TimeSignature
from pedalsetter.analysis.reading.barlines import BarlineFacts
from pedalsetter.analysis.reading.draft import ZERO, EventDraft, MeasureDraft
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["Reach", "bars_left_open", "build_bars", "fill_bar_rests"]

Reach = Callable[[int], Fraction]
"""How far the notes of the other parts reach in a bar given by its index; 0 if they have none."""


_NO_TIME = TimeSignature((((4,), 4),), symbol="none")
"""Of a score that names none."""


def build_bars(
    measures: Sequence[MeasureDraft],
    facts: Sequence[BarlineFacts],
    first_time: TimeSignature | None,
    others: Reach,
    notices: Notices,
) -> list[Bar]:
    """All bars with exact starts and lengths; ``measures`` hold the events of all staves.

    ``first_time`` is the signature of another part, for a part that begins without one.
    """
    time = first_time or _NO_TIME
    bars: list[Bar] = []
    start = ZERO
    for measure, fact in zip(measures, facts, strict=True):
        if measure.time is not None:
            time = measure.time
        length = _length(measure, time, others)
        is_short_pickup = measure.index == 0 and length < time.length
        bars.append(
            Bar(
                index=measure.index,
                number=measure.number,
                start=start,
                length=length,
                time=time,
                implicit=measure.implicit or is_short_pickup,
                left=fact.left,
                right=fact.right,
                repeat_start=fact.repeat_start,
                repeat_times=fact.repeat_times,
                ending=fact.ending,
                new_system=measure.new_system,
                new_page=measure.new_page,
                inner_barlines=tuple(
                    (offset, style) for offset, style in fact.inner if 0 < offset < length
                ),
                barline_fermatas=tuple(dict.fromkeys(fact.fermatas)),
            )
        )
        start += length
    _tell_odd_lengths(bars, measures, notices)
    return bars


def bars_left_open(measures: Sequence[MeasureDraft], first_time: TimeSignature | None) -> list[int]:
    """Indices of the bars of whose length :func:`build_bars` will ask the other parts."""
    asked: list[int] = []

    def ask(index: int) -> Fraction:
        asked.append(index)
        return ZERO

    time = first_time or _NO_TIME
    for measure in measures:
        time = measure.time or time
        _length(measure, time, ask)
    return asked


def fill_bar_rests(measures: Sequence[MeasureDraft], bars: Sequence[Bar]) -> None:
    """Make every rest that stands for a bar exactly as long as its bar."""
    for measure, bar in zip(measures, bars, strict=True):
        for event in measure.events:
            if _is_bar_rest(event, bar):
                event.bar_rest = True
                event.offset, event.length, event.notated = ZERO, bar.length, None


def _is_bar_rest(event: EventDraft, bar: Bar) -> bool:
    if event.heads or event.grace is not None or event.modification is not None:
        return False
    if event.bar_rest:
        return True
    # A whole rest (or one without a value) that fills the bar is the same sign.
    return (
        event.offset == 0
        and event.length == bar.length
        and (event.notated is None or (event.notated.log == 0 and not event.notated.dots))
    )


def _length(measure: MeasureDraft, time: TimeSignature, others: Reach) -> Fraction:
    full = time.length
    has_bar_rest = any(event.bar_rest for event in measure.events)
    if not all(event.bar_rest for event in measure.events):
        # A gap (forward) is content too; a bar rest in another voice is not.
        reach = measure.sounding_reach if has_bar_rest else measure.reach
        if reach > full and measure.sounding_reach <= full and time.symbol != "none":
            # A gap that leads beyond the bar is a slip; nothing stands there.
            reach = full
        if reach <= 0:
            return others(measure.index) or full
        if reach < full:
            return max(reach, others(measure.index))
        return reach
    rests = {event.length for event in measure.events}
    agreed = not rests or rests == {full}
    if agreed and not measure.implicit and measure.index:
        return full
    told = others(measure.index)
    if told > 0:
        return told
    if rests and (measure.implicit or not measure.index) and 0 < max(rests) < full:
        return max(rests)
    return full


def _tell_odd_lengths(
    bars: Sequence[Bar], measures: Sequence[MeasureDraft], notices: Notices
) -> None:
    for bar in bars:
        full = bar.time.length
        if bar.length == full or bar.implicit or bar.time.symbol == "none":
            continue
        before = bars[bar.index - 1] if bar.index else None
        after = bars[bar.index + 1] if bar.index + 1 < len(bars) else None
        if bar.length < full:
            if before is None or after is None:
                continue
            # Halves of a split bar, and the ends of repeats, which meet the upbeat again.
            if full in (before.length + bar.length, bar.length + after.length):
                continue
            if bar.repeat_times or bar.repeat_start or after.repeat_start or before.repeat_times:
                continue
            if bar.right is not BarlineStyle.REGULAR or after.implicit:
                continue
        # The staff whose notes reach furthest has made the bar as long as it is.
        last = max(measures[bar.index].events, key=lambda event: event.end, default=None)
        notices.at(bar.index, None, 1 if last is None else last.staff)
        notices.add(
            f"the bar is {_quarters(bar.length)} long where {bar.time} asks for {_quarters(full)}",
            kind="the bar is not as long as its time signature asks",
        )


def _quarters(length: Fraction) -> str:
    return "1 quarter" if length == 1 else f"{length} quarters"
