"""Repeats, endings and barlines."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from score_snippets import barline, bars, note, read, right_barline, told

from pedalsetter.analysis.part import BarlineStyle, Ending

C = note("C4", 4)


def test_a_repeat_with_two_endings() -> None:
    """The first ending is two bars long: the middle of a bracket neither starts nor stops."""
    part = read(
        bars(
            barline("left", '<bar-style>heavy-light</bar-style><repeat direction="forward"/>') + C,
            barline("left", '<ending number="1" type="start">1.</ending>') + C,
            C
            + right_barline(
                "light-heavy", '<ending number="1" type="stop"/><repeat direction="backward"/>'
            ),
            barline("left", '<ending number="2" type="start"/>')
            + C
            + barline("right", '<ending number="2" type="discontinue"/>'),
            C,
        )
    )
    assert [bar.repeat_start for bar in part.bars] == [True, False, False, False, False]
    assert [bar.repeat_times for bar in part.bars] == [0, 0, 2, 0, 0]
    assert [bar.ending for bar in part.bars] == [
        None,
        Ending((1,), "1.", True, False),
        Ending((1,), "1.", False, True),
        Ending((2,), "2.", True, True, True),
        None,
    ]
    assert part.bars[0].left is BarlineStyle.HEAVY_LIGHT
    assert part.bars[2].right is BarlineStyle.FINAL


def test_endings_for_several_passes() -> None:
    """``1, 2`` and ``1-3`` name their passes; a repeat may be played four times."""
    for number, passes in (("1, 2", (1, 2)), ("1-3", (1, 2, 3))):
        part = read(
            bars(
                barline("left", f'<ending number="{number}" type="start"/>')
                + C
                + barline(
                    "right",
                    f'<ending number="{number}" type="stop"/>'
                    '<repeat direction="backward" times="4"/>',
                ),
                C,
            )
        )
        ending = part.bars[0].ending
        assert ending is not None
        assert ending.numbers == passes
        assert part.bars[0].repeat_times == 4


def test_a_forward_repeat_on_the_right_barline_opens_the_next_bar() -> None:
    """The sign means what follows it."""
    part = read(bars(C + barline("right", '<repeat direction="forward"/>'), C))
    assert [bar.repeat_start for bar in part.bars] == [False, True]


def test_an_ending_that_is_never_closed_is_told() -> None:
    """It is read to the last bar."""
    part = read(bars(barline("left", '<ending number="1" type="start"/>') + C, C))
    assert [bar.ending is not None for bar in part.bars] == [True, True]
    assert told(part) == [
        "bar 1, staff 1: an ending's bracket is never closed; it is read to the last bar"
    ]


def test_barlines_inside_a_bar_and_fermatas_on_barlines() -> None:
    """A dotted line after the second beat; a fermata above the right barline."""
    part = read(
        bars(
            note("C4", 2)
            + barline("middle", "<bar-style>dotted</bar-style>")
            + note("C4", 2)
            + barline("right", '<bar-style>light-light</bar-style><fermata type="upright"/>'),
            C,
        )
    )
    assert part.bars[0].inner_barlines == ((2, BarlineStyle.DOTTED),)
    assert part.bars[0].barline_fermatas == ("above",)
    assert part.bars[0].right is BarlineStyle.DOUBLE
