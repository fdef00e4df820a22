"""Pages filled by measure: the choice of breaks, and what the engraver makes of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from example_scores import CHROMATIC_STUDY
from long_parts import long_part
from part_builder import build_part

from pedalsetter.analysis.marks.marking import Markings, place_marks
from pedalsetter.analysis.planning import QUICK, plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.geometry import Box, Line, Page, PageBoxes
from pedalsetter.engrave.layout.page_fill import LAST_FULL, LEAST_FULL, measured_fill
from pedalsetter.engrave.layout.page_plan import (
    BROKEN,
    LOOSEST,
    TIGHTEST,
    MeasuredPart,
    best_breaks,
    measured_part,
    present_breaks,
)
from pedalsetter.engrave.output.pages.press import engrave_part

STAFF = 15.0
"""From the highest line of a made-up system to its lowest."""


def boxes(widths: list[list[float]], pages: list[int], above: float = 6.0) -> PageBoxes:
    """Systems of bars so many staff spaces wide, so many of them on each page of 100 by 140."""
    lines = []
    moment = Fraction(0)
    for number, bars in enumerate(widths):
        page = next(p for p in range(1, len(pages) + 1) if number < sum(pages[:p]))
        top = 10.0 + 30 * (number - sum(pages[: page - 1]))
        edges = [10.0]
        for width in bars:
            edges.append(edges[-1] + width)
        lines.append(
            Line(
                page,
                number - sum(pages[: page - 1]),
                True,
                Box(0.0, top, 100.0, top + above + STAFF + 4),
                100.0,
                top + above,
                top + above + STAFF,
                moment,
                moment + 4 * len(bars),
                10.0,
                tuple((moment + 4 * place, edges[place]) for place in range(1, len(bars))),
                8.0,
            )
        )
        moment += 4 * len(bars)
    lines[-1] = replace(lines[-1], closest=None)
    sheets = tuple(
        Page(number, 100.0, 140.0, 1.5, 5.0, 136.0) for number in range(1, len(pages) + 1)
    )
    return PageBoxes(sheets, tuple(lines), (), ())


def made_up(seed: int) -> MeasuredPart:
    """Six to nine bars on four or five systems of one page or two."""
    chance = Random(seed)  # noqa: S311 - music, not secrets
    count = chance.choice((4, 5))
    widths = []
    for _ in range(count):
        cut = chance.uniform(0.35, 0.65) * 90
        widths.append([cut, 90 - cut] if chance.random() < 0.8 else [90.0])
    total = sum(map(len, widths))
    pages = [3, count - 3]
    turns = frozenset(bar for bar in range(total) if chance.random() < 0.4)
    starts = {Fraction(4 * bar): bar for bar in range(total)}
    part = measured_part(boxes(widths, pages, chance.uniform(3, 12)), starts, turns)
    assert part is not None
    return part


def may_stand(part: MeasuredPart, start: int, end: int) -> bool:
    """Whether a line from bar to bar is neither too narrow nor too wide."""
    share = (part.ends[end] - part.ends[start] + part.prefix) / part.width
    narrow = share > TIGHTEST and end > start + 1
    return not narrow and (share >= LOOSEST or end == len(part.bars))


def every_division(part: MeasuredPart) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """All ways to begin systems and pages."""
    bars = len(part.bars)
    for lines in range(2 ** (bars - 1)):
        systems = (0, *(bar for bar in range(1, bars) if lines >> (bar - 1) & 1))
        if not all(may_stand(part, *line) for line in pairwise([*systems, bars])):
            continue
        for sheets in range(2 ** (len(systems) - 1)):
            yield (
                systems,
                (
                    0,
                    *(bar for place, bar in enumerate(systems[1:]) if sheets >> place & 1),
                ),
            )


@pytest.mark.parametrize("seed", range(12))
def test_no_other_division_is_cheaper(seed: int) -> None:
    """Held against every division of the bars, priced one by one."""
    part = made_up(seed)
    chosen = best_breaks(part)
    assert chosen is not None
    cheapest = min(
        present_breaks(part, (systems, pages)).cost for systems, pages in every_division(part)
    )
    assert chosen.cost == pytest.approx(cheapest)
    assert present_breaks(part, (chosen.systems, chosen.pages)).cost == pytest.approx(chosen.cost)


def test_a_lone_system_moves_up_a_page() -> None:
    """Four systems and one: all five go on one page if they fit, else they are shared out."""
    starts = {Fraction(4 * bar): bar for bar in range(40)}
    roomy = measured_part(boxes([[45.0, 45.0]] * 4, [3, 1], 3.0), starts, frozenset())
    assert roomy is not None
    assert present_breaks(roomy).cost > BROKEN
    fitting = best_breaks(roomy)
    assert fitting is not None
    assert fitting.pages == (0,)
    full = measured_part(boxes([[45.0, 45.0]] * 7, [5, 2], 3.0), starts, frozenset())
    assert full is not None
    shared = best_breaks(full)
    assert shared is not None
    assert len(shared.pages) == 2
    assert shared.cost < BROKEN
    assert shared.last_full >= LAST_FULL


def test_systems_that_were_told_stay() -> None:
    """Where systems are fixed, only pages are chosen."""
    starts = {Fraction(4 * bar): bar for bar in range(40)}
    part = measured_part(boxes([[30.0, 60.0]] * 6, [5, 1]), starts, frozenset())
    assert part is not None
    chosen = best_breaks(part, lines_stay=True)
    assert chosen is not None
    assert chosen.systems == tuple(range(0, 12, 2))


def test_a_system_that_had_no_room_is_not_made_again() -> None:
    """Nor is one that holds it; what is chosen then costs more, and stands."""
    starts = {Fraction(4 * bar): bar for bar in range(40)}
    part = measured_part(boxes([[30.0, 30.0, 30.0]] * 4, [3, 1], 3.0), starts, frozenset())
    assert part is not None
    first = best_breaks(part)
    assert first is not None
    lines = [*pairwise([*first.systems, len(part.bars)])]
    start, end = next(line for line in lines if line[1] - line[0] > 1)
    other = best_breaks(replace(part, refused=frozenset({(start, end)})))
    assert other is not None
    found = [*pairwise([*other.systems, len(part.bars)])]
    assert not any(one <= start and end <= stop for one, stop in found)
    assert first.cost < other.cost < BROKEN


@pytest.mark.engraving
def test_after_a_system_without_room_another_division_is_tried() -> None:
    """The chromatic study: its first division of one page crowds bars 7 to 10, its next holds.

    Before, the second page was 36 % full.
    """
    part = read_part(CHROMATIC_STUDY.path)
    done = engrave_part(
        part, place_marks(part, plan_changes(part, effort=QUICK)), load_house_style()
    )
    assert done.proof.failures == ()
    fill = done.proof.fill
    assert len(fill) == 1 or fill[-1].fullness >= LAST_FULL


@pytest.mark.engraving
def test_pages_are_full_when_they_are_engraved() -> None:
    """What was chosen comes true: two parts that the engraver alone leaves with a page half empty.

    The heights are those of the engraved pages, read back from the engraver's own boxes.
    """
    short = build_part(*["C5/e E5/e G5/e E5/e C5/h | C3/h G3/h"] * 26)
    for part, pages in ((short, 1), (long_part(1), 1)):
        done = engrave_part(part, Markings((), ()), load_house_style())
        fill = done.proof.fill
        assert len(fill) == pages
        assert all(page.fullness >= LEAST_FULL for page in fill[:-1])
        assert len(fill) == 1 or fill[-1].fullness >= LAST_FULL
        systems = [line for line in done.engraving.boxes.lines if line.is_system]
        for above, below in pairwise(systems):
            if above.page == below.page:
                assert below.box.top > above.box.bottom - 12
        assert fill == measured_fill(part, done.placement.boxes)
