"""Sections and movements: where a player may begin again."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from collections.abc import Sequence

from score_snippets import (
    barline,
    bars,
    direction,
    full_score,
    measure,
    note,
    opening,
    read,
    right_barline,
    words,
)

from pedalsetter.analysis.part import HarpPart, SectionReason
from pedalsetter.analysis.reading import read_score

C = note("C4", 4)


def reasons(part: HarpPart) -> list[tuple[int, Sequence[str], str]]:
    """(bar index, reasons, label) of every section."""
    return [
        (section.bar, [reason.value for reason in section.reasons], section.label)
        for section in part.sections
    ]


def test_sections_begin_for_every_reason() -> None:
    """Start, rehearsal mark, double bar, key, heading, segno and coda, each where it is."""
    key = "<attributes><key><fifths>2</fifths></key></attributes>"
    part = read(
        bars(
            C,
            direction("<rehearsal>A</rehearsal>") + C + right_barline("light-light"),
            C,
            key + C,
            words("Più lento") + C,
            words("rit.") + C,
            direction("<segno/>") + C,
            C + words("D.S."),
        )
    )
    assert reasons(part) == [
        (0, ["start"], ""),
        (1, ["rehearsal mark"], "A"),
        (2, ["double bar"], ""),
        (3, ["key change"], ""),
        (4, ["heading"], "Più lento"),
        (6, ["segno"], ""),
    ]


def test_a_key_change_inside_a_bar_counts_for_the_next() -> None:
    """One does not begin anew in mid-bar."""
    key = "<attributes><key><fifths>2</fifths></key></attributes>"
    part = read(bars(C, note("C4", 2) + key + note("C4", 2), C))
    assert reasons(part)[1:] == [(2, ["key change"], "")]


def test_the_entry_after_four_silent_bars_is_a_section() -> None:
    """Four bars of rest, not three; both staves must be silent."""
    rest = '<note><rest measure="yes"/><duration>384</duration></note>'
    part = read(bars(C, rest, rest, rest, C, rest, rest, rest, rest, C))
    assert reasons(part)[1:] == [(9, ["long rest"], "")]


def test_a_repeat_sign_is_no_double_bar() -> None:
    """Its thick line belongs to the repeat."""
    part = read(
        bars(
            C,
            barline("left", '<bar-style>heavy-light</bar-style><repeat direction="forward"/>') + C,
            C + right_barline("light-heavy", '<repeat direction="backward"/>'),
            C,
        )
    )
    assert [section.bar for section in part.sections] == [0]


def test_a_new_movement_counts_its_bars_from_one() -> None:
    """After a final barline the numbers begin again: two movements, each with its start."""
    part = read(
        measure(opening() + C, 1)
        + measure(C + right_barline("light-heavy"), 2)
        + measure(words("Adagio", 'font-weight="bold"') + C, 1)
        + measure(C + right_barline("light-heavy"), 2),
        header="<movement-title>I</movement-title>",
    )
    assert [bar.movement for bar in part.bars] == [0, 0, 1, 1]
    assert part.movement_titles == ("I", "Adagio")
    assert SectionReason.MOVEMENT in part.sections[1].reasons


def test_a_new_movement_may_begin_with_an_upbeat() -> None:
    """Bar 0 is short and not counted; bar 1 follows."""
    part = read(
        measure(opening() + C, 1)
        + measure(C + right_barline("light-heavy"), 2)
        + measure(note("G4", 1), 0, 'implicit="yes"')
        + measure(C, 1)
    )
    assert [bar.movement for bar in part.bars] == [0, 0, 1, 1]
    assert part.bars[2].length == 1


def test_a_new_movement_may_carry_a_heading_on_a_new_page() -> None:
    """The count goes on, but final barline, page and heading say it."""
    part = read(
        measure(opening() + C, 1)
        + measure(C + right_barline("light-heavy"), 2)
        + measure('<print new-page="yes"/>' + words("Finale. Presto") + C, 3)
        + measure(C + right_barline("light-heavy"), 4)
    )
    assert [bar.movement for bar in part.bars] == [0, 0, 1, 1]


def test_minuet_and_trio_are_one_movement() -> None:
    """The minuet's final barline stands at *Fine*, and the trio leads back to its beginning."""
    part = read(
        measure(opening() + C, 1)
        + measure(C + words("Fine") + right_barline("light-heavy"), 2)
        + measure('<print new-system="yes"/>' + words("Trio", 'font-weight="bold"') + C, 3)
        + measure(C + words("Menuet D.C.") + right_barline("light-heavy"), 4)
    )
    assert [bar.movement for bar in part.bars] == [0, 0, 0, 0]


def test_bold_words_of_another_player_are_no_heading() -> None:
    """*Solo* above the flute is nothing for the harp; *Trio* in large letters is."""
    bold = 'font-weight="bold"'
    flute = bars(words("Solo", bold) + C, words("Trio", bold + ' font-size="16"') + C)
    part = read_score(full_score([("P1", "Flute", flute), ("P2", "Harp", bars(C, C))]), "a.xml")
    assert [each.text for each in part.directions] == ["Trio"]
    assert reasons(part) == [(0, ["start"], ""), (1, ["heading"], "Trio")]
