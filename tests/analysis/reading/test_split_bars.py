"""Bars that a repeat sign divides."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from score_snippets import bars, direction, full_score, note, part_head, read, told, words

from pedalsetter.analysis.part import BarlineStyle, Jump, JumpKind
from pedalsetter.analysis.reading import read_score

C = note("C4", 4)


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
        "bar 2, beat 4, staff 1: a repeat sign inside a bar is shown as a barline and not played"
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
