"""Whatever a part holds, every bar of every context lasts exactly as long as the bar does."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import abjad
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_parts import direction, line, small_part, time

from pedalsetter.analysis.part import (
    DirectionKind,
    Event,
    HarpPart,
    NotatedLength,
    TupletGroup,
)
from pedalsetter.engrave.notation import engraver_score as es
from pedalsetter.engrave.notation.mark_row import build_mark_row
from pedalsetter.engrave.notation.score import build_score
from pedalsetter.engrave.notation.timeline import bar_units

VALUES = [
    (Fraction(4), NotatedLength(0)),
    (Fraction(2), NotatedLength(1)),
    (Fraction(3, 2), NotatedLength(2, 1)),
    (Fraction(1), NotatedLength(2)),
    (Fraction(1, 2), NotatedLength(3)),
    (Fraction(1, 4), NotatedLength(4)),
    (Fraction(5, 4), NotatedLength(2)),
]
RATIOS = [(3, 2), (5, 4), (7, 4), (2, 3)]


@st.composite
def parts(draw: st.DrawFn) -> HarpPart:
    """Parts of some bars with gaps, overlaps, tuplets, graces, and lengths unlike their signs."""
    events: list[Event] = []
    signatures = draw(
        st.lists(st.sampled_from([(4, 4), (3, 4), (6, 8), (5, 8)]), min_size=1, max_size=3)
    )
    start = Fraction(0)
    number = 0
    for bar, (beats, kind) in enumerate(signatures):
        length = Fraction(4 * beats, kind)
        for voice in draw(st.lists(st.sampled_from(["1", "2", "5"]), unique=True, max_size=3)):
            now = Fraction(0)
            while now < length:
                number += 1
                kind_of = draw(st.sampled_from(["note", "note", "gap", "tuplet", "grace", "rest"]))
                staff = draw(st.sampled_from([1, 2]))
                if kind_of == "tuplet":
                    actual, normal = draw(st.sampled_from(RATIOS))
                    group = TupletGroup(f"t{number}", actual, normal)
                    each = Fraction(normal, actual) / 4
                    for _ in range(min(actual, int((length - now) / each))):
                        events += line(
                            "C5/16",
                            bar=bar,
                            at=start + now,
                            staff=staff,
                            voice=voice,
                            scale=Fraction(normal, actual),
                            marks={0: {"tuplets": (group,)}},
                        )
                        now += each
                    now += Fraction(1, 4)
                elif kind_of == "grace":
                    events += line("g:D5/16", bar=bar, at=start + now, staff=staff, voice=voice)
                    now += Fraction(0) if draw(st.booleans()) else Fraction(1, 4)
                else:
                    value, printed = draw(st.sampled_from(VALUES))
                    value = min(value, length - now)
                    if kind_of != "gap":
                        made = line("C5/4" if kind_of == "note" else "r/4", bar=bar, at=start + now)
                        events.append(_with(made[0], value, printed, staff, voice))
                    now += value
        start += length
    words = [
        direction(DirectionKind.WORDS, Fraction(place, 3), bar=0, staff=1, text="x")
        for place in draw(st.lists(st.integers(0, 6), max_size=3))
    ]
    return small_part(
        events,
        bars=len(signatures),
        staves=2,
        bar_fields={index: {"time": time(*pair)} for index, pair in enumerate(signatures)},
        directions=tuple(words),
    )


def _with(event: Event, length: Fraction, printed: NotatedLength, staff: int, voice: str) -> Event:
    return replace(event, length=length, notated=printed, staff=staff, voice=voice)


def bars_of(component: Any) -> list[list[es.BarLine]]:
    """The bars of every context that holds some."""
    children = list(component)
    if children and all(isinstance(child, es.BarLine) for child in children):
        return [children]
    return [
        bars for child in children if isinstance(child, abjad.Container) for bars in bars_of(child)
    ]


@settings(max_examples=60, deadline=None)
@given(parts())
def test_every_bar_is_exact(part: HarpPart) -> None:
    """Voices, signs, timing lane and mark row agree on the length of each bar."""
    units = bar_units(part)
    score = build_score(part, units)
    contexts = [
        *bars_of(score.staves),
        *bars_of(score.timing),
        *bars_of(build_mark_row(part, units)),
    ]
    assert len(contexts) >= 4
    for bars in contexts:
        assert [es.duration_of(bar) for bar in bars] == [unit.length for unit in units]


@pytest.mark.parametrize(
    ("quarters", "text"),
    [
        (Fraction(4), "s1"),
        (Fraction(3), "s2."),
        (Fraction(1, 2), "s8"),
        (Fraction(5), "s4*5"),
        (Fraction(16), "s1*4"),
        (Fraction(5, 6), "s1*5/24"),
        (Fraction(7, 2), "s2.."),
    ],
)
def test_silence_is_written_readably(quarters: Fraction, text: str) -> None:
    """A printable length is printed as one, any other as a multiple."""
    skip = es.skip(quarters)
    assert es.source(skip).strip() == text
    assert es.duration_of(skip) == quarters
