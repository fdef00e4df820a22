"""Repeats, endings, jumps, movements, and the sections that follow from them."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from collections.abc import Sequence

import pytest
from score_snippets import (
    bars,
    direction,
    full_score,
    measure,
    note,
    opening,
    part_head,
    read,
    told,
    words,
)

from pedalsetter.analysis.part import (
    BarlineStyle,
    Ending,
    HarpPart,
    Jump,
    JumpKind,
    SectionReason,
)
from pedalsetter.analysis.reading import read_score

C = note("C4", 4)


def barline(location: str, content: str, attributes: str = "") -> str:
    """A ``<barline>``."""
    return f'<barline location="{location}" {attributes}>{content}</barline>'


def right(style: str, more: str = "") -> str:
    """A right barline of a style."""
    return barline("right", f"<bar-style>{style}</bar-style>{more}")


def reasons(part: HarpPart) -> list[tuple[int, Sequence[str], str]]:
    """(bar index, reasons, label) of every section."""
    return [
        (section.bar, [reason.value for reason in section.reasons], section.label)
        for section in part.sections
    ]


def test_a_repeat_with_two_endings() -> None:
    """The first ending is two bars long: the middle of a bracket neither starts nor stops."""
    part = read(
        bars(
            barline("left", '<bar-style>heavy-light</bar-style><repeat direction="forward"/>') + C,
            barline("left", '<ending number="1" type="start">1.</ending>') + C,
            C
            + right(
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
    assert told(part) == ["bar 1: an ending's bracket is never closed; it is read to the last bar"]


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


@pytest.mark.parametrize(
    ("text", "kind", "al_coda", "al_fine"),
    [
        ("D.C.", JumpKind.DA_CAPO, False, False),
        ("Da Capo", JumpKind.DA_CAPO, False, False),
        ("D.C. al Fine", JumpKind.DA_CAPO, False, True),
        ("D. C. al Coda", JumpKind.DA_CAPO, True, False),
        ("D.S. al Fine", JumpKind.DAL_SEGNO, False, True),
        ("D.S. al Coda", JumpKind.DAL_SEGNO, True, False),
        ("Dal Segno al Fine", JumpKind.DAL_SEGNO, False, True),
        ("D.S. 𝄋 al Coda", JumpKind.DAL_SEGNO, True, False),
        ("To Coda", JumpKind.TO_CODA, False, False),
        ("al Coda", JumpKind.TO_CODA, False, False),
        ("Fine", JumpKind.FINE, False, False),
    ],
)
def test_jumps_by_words_alone(text: str, kind: JumpKind, al_coda: bool, al_fine: bool) -> None:
    """What a player reads is enough; no playback data is needed."""
    part = read(bars(C, C + words(text), C))
    assert part.jumps == (Jump(kind, 1, "", al_coda, al_fine),)
    assert part.directions[0].text == text
    assert part.directions[0].kind.value == "jump words"


@pytest.mark.parametrize("text", ["finely", "decode", "DS", "Coda", "code", "fino al segno piano"])
def test_other_words_are_no_jumps(text: str) -> None:
    """*Coda* as a heading is no way to it; words that merely begin alike are not jumps."""
    part = read(bars(C, words(text) + C))
    assert [jump.kind for jump in part.jumps if text != "DS"] == []


def test_words_sign_and_sound_are_one_jump() -> None:
    """D.S. al Coda with its sound; segno and coda with theirs: four jumps, not eight."""
    part = read(
        bars(
            C,
            direction("<segno/>", after='<sound segno="s1"/>') + C,
            C + direction("<coda/>", after='<sound tocoda="c1"/>'),
            C + words("D.S. al Coda", after='<sound dalsegno="s1"/>'),
            direction("<coda/>", after='<sound coda="c1"/>') + C,
        )
    )
    assert part.jumps == (
        Jump(JumpKind.SEGNO, 1, "s1"),
        Jump(JumpKind.TO_CODA, 2, "c1"),
        Jump(JumpKind.DAL_SEGNO, 3, "s1", al_coda=True),
        Jump(JumpKind.CODA, 4, "c1"),
    )


def test_of_two_coda_signs_the_first_is_left_and_the_second_reached() -> None:
    """Without sound or words the order tells (common practice, no source)."""
    part = read(
        bars(
            C,
            C + direction("<coda/>"),
            C + words("D.C. al Coda"),
            direction("<coda/>") + C,
        )
    )
    assert [(jump.kind, jump.bar) for jump in part.jumps] == [
        (JumpKind.TO_CODA, 1),
        (JumpKind.DA_CAPO, 2),
        (JumpKind.CODA, 3),
    ]


def test_to_coda_in_words_beside_the_sign() -> None:
    """*To Coda* with the sign in one direction is one departure."""
    both = (
        "<direction><direction-type><words>To Coda</words></direction-type>"
        "<direction-type><coda/></direction-type></direction>"
    )
    part = read(bars(C, C + both, C + words("D.C. al Coda"), direction("<coda/>") + C))
    assert [(jump.kind, jump.bar) for jump in part.jumps] == [
        (JumpKind.TO_CODA, 1),
        (JumpKind.DA_CAPO, 2),
        (JumpKind.CODA, 3),
    ]


def test_a_coda_may_be_headed_by_its_name_alone() -> None:
    """Only where something leads to it; else *Coda* is a heading like any other."""
    part = read(bars(C, C + words("D.C. al Coda"), words("Coda") + C))
    assert [(jump.kind, jump.bar) for jump in part.jumps] == [
        (JumpKind.DA_CAPO, 1),
        (JumpKind.CODA, 2),
    ]


def test_a_segno_at_the_end_of_a_bar_opens_the_next() -> None:
    """A target is where one begins to play."""
    part = read(bars(C, C + direction("<segno/>"), C + words("D.S.")))
    assert part.jumps[0] == Jump(JumpKind.SEGNO, 2)


def test_segno_and_coda_may_stand_on_barlines() -> None:
    """``<barline><segno/>`` at the left is this bar's, at the right the next one's."""
    part = read(
        bars(
            C,
            barline("left", "<segno/>") + C,
            C + barline("right", "<coda/>", 'coda="x"'),
            C,
        )
    )
    assert part.jumps == (Jump(JumpKind.SEGNO, 1), Jump(JumpKind.CODA, 3, "x"))


def test_sections_begin_for_every_reason() -> None:
    """Start, rehearsal mark, double bar, key, heading, segno and coda, each where it is."""
    key = "<attributes><key><fifths>2</fifths></key></attributes>"
    part = read(
        bars(
            C,
            direction("<rehearsal>A</rehearsal>") + C + right("light-light"),
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
            C + right("light-heavy", '<repeat direction="backward"/>'),
            C,
        )
    )
    assert [section.bar for section in part.sections] == [0]


def test_a_new_movement_counts_its_bars_from_one() -> None:
    """After a final barline the numbers begin again: two movements, each with its start."""
    part = read(
        measure(opening() + C, 1)
        + measure(C + right("light-heavy"), 2)
        + measure(words("Adagio", 'font-weight="bold"') + C, 1)
        + measure(C + right("light-heavy"), 2),
        header="<movement-title>I</movement-title>",
    )
    assert [bar.movement for bar in part.bars] == [0, 0, 1, 1]
    assert part.movement_titles == ("I", "Adagio")
    assert SectionReason.MOVEMENT in part.sections[1].reasons


def test_a_new_movement_may_begin_with_an_upbeat() -> None:
    """Bar 0 is short and not counted; bar 1 follows."""
    part = read(
        measure(opening() + C, 1)
        + measure(C + right("light-heavy"), 2)
        + measure(note("G4", 1), 0, 'implicit="yes"')
        + measure(C, 1)
    )
    assert [bar.movement for bar in part.bars] == [0, 0, 1, 1]
    assert part.bars[2].length == 1


def test_a_new_movement_may_carry_a_heading_on_a_new_page() -> None:
    """The count goes on, but final barline, page and heading say it."""
    part = read(
        measure(opening() + C, 1)
        + measure(C + right("light-heavy"), 2)
        + measure('<print new-page="yes"/>' + words("Finale. Presto") + C, 3)
        + measure(C + right("light-heavy"), 4)
    )
    assert [bar.movement for bar in part.bars] == [0, 0, 1, 1]


def test_minuet_and_trio_are_one_movement() -> None:
    """The minuet's final barline stands at *Fine*, and the trio leads back to its beginning."""
    part = read(
        measure(opening() + C, 1)
        + measure(C + words("Fine") + right("light-heavy"), 2)
        + measure('<print new-system="yes"/>' + words("Trio", 'font-weight="bold"') + C, 3)
        + measure(C + words("Menuet D.C.") + right("light-heavy"), 4)
    )
    assert [bar.movement for bar in part.bars] == [0, 0, 0, 0]


def test_a_repeat_inside_a_bar_makes_two_bars_of_it() -> None:
    """The upbeat is repeated too: the bar is cut at the sign, its second piece is not counted."""
    middle = (
        '<barline location="middle"><bar-style>light-heavy</bar-style>'
        '<repeat direction="backward"/></barline>'
    )
    part = read(
        bars(
            C,
            note("C4", 3, dots=1) + middle + words("dolce") + note("G4", 1),
            C + direction("<segno/>"),
            C,
        )
    )
    assert [(bar.number, bar.length, bar.implicit) for bar in part.bars] == [
        ("1", 4, False),
        ("2", 3, False),
        ("2", 1, True),
        ("3", 4, False),
        ("4", 4, False),
    ]
    assert [bar.repeat_times for bar in part.bars] == [0, 2, 0, 0, 0]
    assert part.bars[1].right is BarlineStyle.FINAL
    assert [(event.bar, event.onset, event.id) for event in part.events] == [
        (0, 0, "P1-m1-n1"),
        (1, 4, "P1-m2-n1"),
        (2, 7, "P1-m2-n2"),
        (3, 8, "P1-m3-n1"),
        (4, 12, "P1-m4-n1"),
    ]
    dolce = part.directions[0]
    assert (dolce.text, dolce.bar, dolce.onset) == ("dolce", 2, 7)
    assert part.jumps == (Jump(JumpKind.SEGNO, 4),)
    assert told(part) == []


def test_a_bar_rest_is_cut_with_its_bar() -> None:
    """The left hand rests through both pieces: a rest in each."""
    middle = '<barline location="middle"><repeat direction="backward"/></barline>'
    rest = '<note><rest measure="yes"/><duration>384</duration><voice>5</voice></note>'
    part = read(
        bars(
            C,
            note("C4", 3, dots=1)
            + middle
            + note("G4", 1)
            + "<backup><duration>384</duration></backup>"
            + rest,
            C,
        )
    )
    rests = [(event.bar, event.length, event.id) for event in part.events if event.is_bar_rest]
    assert rests == [(1, 3, "P1-m2-n3"), (2, 1, "P1-m2-n3-2")]


def test_a_repeat_may_begin_inside_a_bar() -> None:
    """A forward sign opens the second piece."""
    middle = '<barline location="middle"><repeat direction="forward"/></barline>'
    part = read(bars(C, note("C4", 3, dots=1) + middle + note("G4", 1), C))
    assert [bar.repeat_start for bar in part.bars] == [False, False, True, False]


def test_a_repeat_across_a_sounding_note_is_told() -> None:
    """A held bass forbids the cut: the sign is shown, and the musician hears of it."""
    middle = '<barline location="middle"><repeat direction="backward"/></barline>'
    part = read(
        bars(
            C,
            note("C3", 4, voice=2)
            + "<backup><duration>384</duration></backup>"
            + note("C4", 3, dots=1)
            + middle
            + note("G4", 1),
            C,
        )
    )
    assert len(part.bars) == 3
    assert part.bars[1].inner_barlines == ((3, BarlineStyle.REGULAR),)
    assert told(part) == [
        "bar 2, beat 4: a repeat sign inside a bar is shown as a barline and not played"
    ]


def test_signs_for_everyone_follow_the_cut() -> None:
    """The flute's rehearsal mark stands at its bar, though the harp's bars were cut before it."""
    middle = '<barline location="middle"><repeat direction="backward"/></barline>'
    cut = note("C4", 3, dots=1) + middle + note("G4", 1)
    flute = bars(cut, direction("<rehearsal>A</rehearsal>") + C)
    harp = bars(cut, C)
    part = read_score(full_score([("P1", "Flute", flute), ("P2", "Harp", harp)]), "a.xml")
    assert [(each.text, each.bar, each.onset) for each in part.directions] == [("A", 2, 4)]


def test_a_mark_of_both_halves_is_one_mark() -> None:
    """Right and left hand as parts: each has the rehearsal mark, the harp has it once."""
    half = bars(
        C, direction("<rehearsal>A</rehearsal>") + direction("<dynamics><p/></dynamics>") + C
    )
    heads = part_head("P1", "Harp RH") + part_head("P2", "Harp LH")
    part = read_score(full_score([("P1", "", half), ("P2", "", half)], part_list=heads), "a.xml")
    assert [(each.text, each.staff) for each in part.directions] == [("A", 1), ("p", 1), ("p", 2)]


def test_bold_words_of_another_player_are_no_heading() -> None:
    """*Solo* above the flute is nothing for the harp; *Trio* in large letters is."""
    bold = 'font-weight="bold"'
    flute = bars(words("Solo", bold) + C, words("Trio", bold + ' font-size="16"') + C)
    part = read_score(full_score([("P1", "Flute", flute), ("P2", "Harp", bars(C, C))]), "a.xml")
    assert [each.text for each in part.directions] == ["Trio"]
    assert reasons(part) == [(0, ["start"], ""), (1, ["heading"], "Trio")]
