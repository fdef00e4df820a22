"""What a chart says before it is drawn: where each pedal stands, and which bars share a line."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from example_scores import EXAMPLES, Example
from part_builder import build_part

from pedalsetter.analysis.instrument.harp import LETTERS, Letter
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.output.chart.paths import Stretch, pedal_paths
from pedalsetter.engrave.output.chart.rows import chart_rows

WIDTH = 171.0


def standing(part: HarpPart, path: tuple[Stretch, ...], place: Place) -> Stretch:
    """The stretch that holds a place; the last one also at its very end."""
    (found,) = [one for one in path if one.begin <= place < one.end]
    return found


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.file)
def test_the_path_is_the_setting_at_every_note(example: Example) -> None:
    """At each onset the seven paths together are the setting in force, repeats and jumps too."""
    part = read_part(example.path)
    plan = plan_changes(part)
    paths = pedal_paths(part, plan)
    assert tuple(paths) == LETTERS
    for event in part.events:
        place = part.place_of(event)
        setting = plan.setting_at(place)
        assert {
            letter: standing(part, paths[letter], place).position for letter in LETTERS
        } == dict(setting)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.file)
def test_the_path_has_no_gap_and_every_change(example: Example) -> None:
    """Stretches follow one another from the first bar to the last; each change begins one."""
    part = read_part(example.path)
    plan = plan_changes(part)
    paths = pedal_paths(part, plan)
    for path in paths.values():
        assert path[0].begin == Place(0, Fraction(0))
        assert path[-1].end == Place(len(part.bars) - 1, part.bars[-1].length)
        assert all(one.end == following.begin for one, following in pairwise(path))
    drawn = [one.change for path in paths.values() for one in path if one.change is not None]
    assert sorted(map(repr, drawn)) == sorted(map(repr, plan.changes))


def test_a_second_movement_starts_with_its_own_opening() -> None:
    """Between movements no pedal is shown to move: the new opening is simply there."""
    part = build_part("F4/w", "F4/w", "F#4/w", movements=(2,))
    paths = pedal_paths(part, plan_changes(part))

    first, second = paths[Letter.F]
    assert (first.change, second.change) == (None, None)
    assert second.begin == Place(2, Fraction(0))
    assert (first.position.sign, second.position.sign) == ("♮", "♯")


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.file)
def test_lines_hold_every_bar_once_and_stay_in_the_margins(example: Example) -> None:
    """Bars follow one another; later places stand further right; no line is too wide."""
    part = read_part(example.path)
    rows = chart_rows(part, plan_changes(part), WIDTH)

    assert [bar for row in rows for bar in range(row.first, row.last + 1)] == list(
        range(len(part.bars))
    )
    for row in rows:
        assert row.edges[0] == 0
        assert row.edges[-1] <= WIDTH + 1e-9
        assert all(right - left > 3 for left, right in pairwise(row.edges))
        middle = row.x(part, Place(row.first, part.bars[row.first].length / 2))
        assert middle == pytest.approx((row.edges[0] + row.edges[1]) / 2)
    for row in rows[:-1]:
        assert row.edges[-1] == pytest.approx(WIDTH)


def test_a_movement_begins_on_a_line_of_its_own() -> None:
    """Even where its bars would fit on the line before."""
    part = build_part("C4/w", "C4/w", "C4/w", movements=(2,))
    rows = chart_rows(part, plan_changes(part), WIDTH)

    assert [(row.first, row.last) for row in rows] == [(0, 1), (2, 2)]


def test_a_bar_longer_than_a_line_is_pressed_into_it() -> None:
    """A cadenza of eighty quarters takes one line, and plain bars keep their width."""
    cadenza = " ".join(["C4/q"] * 80)
    part = build_part("C4/w", cadenza, "C4/w", "C4/w", "C4/w", "C4/w")
    rows = chart_rows(part, plan_changes(part), WIDTH)

    assert [(row.first, row.last) for row in rows] == [(0, 0), (1, 1), (2, 5)]
    assert rows[1].edges[-1] == pytest.approx(WIDTH)
