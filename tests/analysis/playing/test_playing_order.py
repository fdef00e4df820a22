"""Bars in the order in which they are played."""

from __future__ import annotations

import warnings

import pytest
from music21 import bar as m21_bar
from music21 import note as m21_note
from music21 import repeat as m21_repeat
from music21 import spanner as m21_spanner
from music21 import stream as m21_stream
from part_builder import build_part

from pedalsetter.analysis.part import HarpPart, Jump, JumpKind
from pedalsetter.analysis.playing.playing_order import MOST_PASSES, playing_order

SIGNS = {
    JumpKind.SEGNO: m21_repeat.Segno,
    JumpKind.CODA: m21_repeat.Coda,
    JumpKind.FINE: m21_repeat.Fine,
}

# Name, bars, repeat starts, repeat ends, endings, jumps.
FORMS = {
    "a section twice": (4, (1,), {2: 2}, {}, ()),
    "from the beginning": (3, (), {1: 2}, {}, ()),
    "three times": (3, (0,), {1: 3}, {}, ()),
    "two sections": (6, (0, 3), {2: 2, 5: 2}, {}, ()),
    "first and second ending": (5, (1,), {3: 2}, {3: (1,), 4: (2,)}, ()),
    "endings of two bars": (8, (0,), {4: 2}, {3: (1,), 4: (1,), 5: (2,), 6: (2,)}, ()),
    "da capo": (3, (), {}, {}, (Jump(JumpKind.DA_CAPO, 2),)),
    "da capo al fine": (
        4,
        (),
        {},
        {},
        (Jump(JumpKind.FINE, 1), Jump(JumpKind.DA_CAPO, 3, al_fine=True)),
    ),
    "dal segno": (4, (), {}, {}, (Jump(JumpKind.SEGNO, 1), Jump(JumpKind.DAL_SEGNO, 3))),
    "dal segno al fine": (
        6,
        (),
        {},
        {},
        (
            Jump(JumpKind.SEGNO, 1),
            Jump(JumpKind.FINE, 3),
            Jump(JumpKind.DAL_SEGNO, 5, al_fine=True),
        ),
    ),
}


def ours(form: tuple) -> HarpPart:
    """A part of this form."""
    count, starts, ends, endings, jumps = form
    return build_part(
        *["C4/w"] * count, repeat_starts=starts, repeats=ends, endings=endings, jumps=jumps
    )


def theirs(form: tuple) -> list[int]:
    """The playing order that music21's own expander finds for this form."""
    count, starts, ends, endings, jumps = form
    part = m21_stream.Part()
    measures = []
    for index in range(count):
        measure = m21_stream.Measure(number=index + 1)
        measure.append(m21_note.Note(36 + index, quarterLength=4))
        if index in starts:
            measure.leftBarline = m21_bar.Repeat(direction="start")
        if index in ends:
            measure.rightBarline = m21_bar.Repeat(direction="end", times=ends[index])
        measures.append(measure)
    for jump in jumps:
        measure = measures[jump.bar]
        if jump.kind in SIGNS:
            measure.append(SIGNS[jump.kind]())
        elif jump.kind is JumpKind.DA_CAPO:
            kind = m21_repeat.DaCapoAlFine if jump.al_fine else m21_repeat.DaCapo
            measure.append(kind())
        else:
            kind = m21_repeat.DalSegnoAlFine if jump.al_fine else m21_repeat.DalSegno
            measure.append(kind())
    part.append(measures)
    for number in sorted(set(endings.values())):
        bracket = m21_spanner.RepeatBracket(
            [measures[index] for index in endings if endings[index] == number], number=number[0]
        )
        part.insert(0, bracket)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        expanded = m21_repeat.Expander(part).process()
    # Each bar is known by its one note, for expanding renumbers the bars.
    return [bar.notes.first().pitch.midi - 36 for bar in expanded.getElementsByClass("Measure")]


@pytest.mark.parametrize("name", FORMS)
def test_forms_are_unfolded_as_music21_unfolds_them(name: str) -> None:
    """Source: music21's repeat.Expander, an independent reading of the same signs."""
    found = [visit.bar for visit in playing_order(ours(FORMS[name])).visits]
    assert found == theirs(FORMS[name])


def order(part: HarpPart) -> list[int]:
    """Bars as played."""
    return [visit.bar for visit in playing_order(part).visits]


def test_the_leap_to_the_coda() -> None:
    """D.S. al coda goes back to the sign, and from To Coda to the coda (common practice)."""
    jumps = (
        Jump(JumpKind.SEGNO, 1),
        Jump(JumpKind.TO_CODA, 2),
        Jump(JumpKind.DAL_SEGNO, 4, al_coda=True),
        Jump(JumpKind.CODA, 5),
    )
    part = build_part(*["C4/w"] * 7, jumps=jumps)
    assert order(part) == [0, 1, 2, 3, 4, 1, 2, 5, 6]


def test_after_a_da_capo_repeats_are_not_played_again() -> None:
    """And the last ending is taken (common practice)."""
    part = build_part(
        *["C4/w"] * 5,
        repeat_starts=(0,),
        repeats={1: 2},
        endings={1: (1,), 2: (2,)},
        jumps=(Jump(JumpKind.FINE, 3), Jump(JumpKind.DA_CAPO, 4, al_fine=True)),
    )
    assert order(part) == [0, 1, 0, 2, 3, 4, 0, 2, 3]


def test_a_first_bracket_alone_has_its_second_ending_after_it() -> None:
    """Scott Joplin's *Maple Leaf Rag*, first strain, is printed so (music21's corpus)."""
    part = build_part(*["C4/w"] * 4, repeat_starts=(0,), repeats={2: 2}, endings={2: (1,)})
    assert order(part) == [0, 1, 2, 0, 1, 3]


def test_endings_for_several_passes() -> None:
    """A bracket 1, 2 is played on the first two passes, the bracket 3 on the third."""
    part = build_part(
        *["C4/w"] * 4, repeat_starts=(0,), repeats={1: 3}, endings={1: (1, 2), 2: (3,)}
    )
    assert order(part) == [0, 1, 0, 1, 0, 2, 3]


def test_repeats_without_a_beginning_go_back_to_the_repeat_before() -> None:
    """Common practice, no source."""
    assert order(build_part(*["C4/w"] * 4, repeats={1: 2, 3: 2})) == [0, 1, 0, 1, 2, 3, 2, 3]


def test_movements_are_played_one_after_the_other() -> None:
    """A D.C. goes back to the beginning of its own movement."""
    part = build_part(
        *["C4/w"] * 4, movements=(2,), jumps=(Jump(JumpKind.DA_CAPO, 3),), repeats={0: 2}
    )
    found = playing_order(part)
    assert [visit.bar for visit in found.visits] == [0, 0, 1, 2, 3, 2, 3]
    assert found.movement_starts == (0, 3)
    assert (1, 2) not in found.transitions()


def test_passes_are_numbered() -> None:
    """Each visit knows how often its bar has been played."""
    visits = playing_order(build_part(*["C4/w"] * 2, repeats={1: 2})).visits
    assert [(visit.bar, visit.number) for visit in visits] == [(0, 1), (1, 1), (0, 2), (1, 2)]


def test_a_jump_without_its_sign_is_passed_over() -> None:
    """A D.S. without a segno leads nowhere."""
    assert order(build_part("C4/w", "C4/w", jumps=(Jump(JumpKind.DAL_SEGNO, 1),))) == [0, 1]


def test_a_vamp_of_a_thousand_passes_is_cut_short() -> None:
    """The number of passes has a limit, so that a mistyped score cannot stop the road."""
    assert len(order(build_part("C4/w", repeats={0: 1000}))) == MOST_PASSES
