"""Page turns: where a hand is free, and what the engraver makes of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from part_builder import build_part

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.page_turns import turn_bars, turns_suffice
from pedalsetter.engrave.layout.remedies import first_adjustments
from pedalsetter.engrave.output.pages.press import engrave_part

BUSY = "C5/s D5/s E5/s F5/s " * 4 + "| " + "C3/e G3/e C3/e G3/e " * 2
REST_ABOVE = "C5/q r/q r/h | " + "C3/e G3/e C3/e G3/e " * 2
LONG_BELOW = "C5/s D5/s E5/s F5/s " * 4 + "| C3/w"


def test_a_page_turns_where_a_hand_rests_or_holds_a_long_note() -> None:
    """At 60 quarters a minute a rest of three beats, or a whole note, leaves a hand free to turn.

    Common practice, no source. The string sounds on by itself, so a long note is like a rest.
    """
    part = build_part(BUSY, REST_ABOVE, BUSY, BUSY, LONG_BELOW, BUSY, BUSY)
    # before bar 3 the right hand rests, before bar 6 the left; both come in on the barline
    assert turn_bars(part) == {2, 5}


def test_a_fast_tempo_leaves_no_time_to_turn() -> None:
    """The same rest at 180 quarters a minute lasts but a second."""
    part = build_part(BUSY, REST_ABOVE, BUSY, BUSY, LONG_BELOW, BUSY, BUSY, tempo=180)
    assert turn_bars(part) == frozenset()


def test_turns_must_be_near_enough() -> None:
    """One on the first page, which lies on the right, and one on every other page."""
    far = build_part(*[BUSY] * 40, REST_ABOVE, BUSY)
    near = build_part(*([BUSY] * 7 + [REST_ABOVE]) * 6)
    assert not turns_suffice(far, turn_bars(far))
    assert turns_suffice(near, turn_bars(near))


@pytest.mark.engraving
def test_right_hand_pages_end_where_a_hand_is_free() -> None:
    """In a long part every odd page ends at one of the places for a turn; ``anywhere`` is free."""
    part = build_part(*([BUSY] * 6 + [REST_ABOVE]) * 8)
    style = replace(load_house_style(), staff_size_points=24.0)
    engraved = engrave_part(part, Markings((), ()), style)
    assert engraved.adjustments.free_turns
    assert engraved.placement.pages >= 4
    starts = {bar.start: bar.index for bar in part.bars}
    systems = [line for line in engraved.engraving.boxes.lines if line.is_system]
    turned = [
        starts[below.start]
        for above, below in pairwise(systems)
        if above.page % 2 and below.page != above.page
    ]
    assert turned
    assert set(turned) <= turn_bars(part)
    anywhere = replace(style, page_turns="anywhere")
    assert not first_adjustments(part, anywhere).free_turns
