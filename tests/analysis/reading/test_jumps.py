"""Signs and words of navigation: segno, coda, da capo, fine."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

import pytest
from score_snippets import barline, bars, direction, note, read, words

from pedalsetter.analysis.part import Jump, JumpKind

C = note("C4", 4)


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
