"""Tuplets from brackets, nested, and from ratios alone."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import music21
from score_snippets import bars, note, opening, read, told

from pedalsetter.analysis.part import Event, TupletGroup
from pedalsetter.analysis.reading import read_part


def groups(events: tuple[Event, ...]) -> list[tuple[str, ...]]:
    """Each event's tuplets as ``3:2`` and so on, outermost first."""
    return [tuple(f"{each.actual}:{each.normal}" for each in event.tuplets) for event in events]


def sizes(events: tuple[Event, ...]) -> list[int]:
    """How many events each tuplet holds, in order."""
    order: dict[str, int] = {}
    for event in events:
        for each in event.tuplets:
            order[each.id] = order.get(each.id, 0) + 1
    return list(order.values())


def triplet(*names: str, marks: tuple[str, str] = ("", "")) -> str:
    """Triplet quavers; the first and last carry these notations."""
    last = len(names) - 1
    return "".join(
        note(
            name,
            Fraction(1, 3),
            ratio=(3, 2),
            notations=marks[0] if place == 0 else marks[1] if place == last else "",
        )
        for place, name in enumerate(names)
    )


def test_a_bracketed_triplet_is_one_group() -> None:
    """Three quavers in the time of two, with the source's own bracket and place."""
    marks = (
        '<tuplet type="start" bracket="yes" placement="below" show-number="none"/>',
        '<tuplet type="stop"/>',
    )
    part = read(bars(triplet("C4", "D4", "E4", marks=marks) + note("F4", 3, dots=1)))
    group = part.events[0].tuplets[0]
    assert group == TupletGroup("P1-m1-n1-t1", 3, 2, True, "none", "below")
    assert [event.tuplets for event in part.events] == [(group,), (group,), (group,), ()]


def test_a_ratio_alone_makes_groups_that_fill_a_beat() -> None:
    """Six triplet quavers without brackets are two triplets, not one of six."""
    part = read(bars(triplet("C4", "D4", "E4") + triplet("F4", "E4", "D4") + note("C4", 2)))
    assert groups(part.events)[:6] == [("3:2",)] * 6
    assert sizes(part.events) == [3, 3]


def test_a_ratio_alone_with_unequal_notes() -> None:
    """Quarter and quaver share a triplet; so do quaver, rest and quaver."""
    part = read(
        bars(
            note("C4", Fraction(2, 3), ratio=(3, 2))
            + note("D4", Fraction(1, 3), ratio=(3, 2))
            + note("C4", Fraction(1, 3), ratio=(3, 2))
            + note("R", Fraction(1, 3), ratio=(3, 2))
            + note("C4", Fraction(1, 3), ratio=(3, 2))
            + note("C4", 2)
        )
    )
    assert sizes(part.events) == [2, 3]


def test_a_sextuplet_is_not_cut_in_half() -> None:
    """Six semiquavers in the time of four: three of them do not make six of a smaller value."""
    run = "".join(note(name, Fraction(1, 6), ratio=(6, 4)) for name in ("C4", "D4") * 3)
    part = read(bars(run + note("E4", 3, dots=1)))
    assert sizes(part.events) == [6]
    assert groups(part.events)[0] == ("6:4",)


SUITE = Path(music21.__file__).parent / "musicxml" / "lilypondTestSuite"


def test_nested_tuplets_of_the_musicxml_test_suite() -> None:
    """Source: MusicXML test suite 23d, nested tuplets (shipped with music21)."""
    part = read_part(SUITE / "23d-Tuplets-Nested.xml")
    assert told(part) == []
    for event in part.events:
        ratio = Fraction(1)
        for each in event.tuplets:
            ratio *= Fraction(each.actual, each.normal)
        assert event.notated is not None
        assert event.length * ratio == event.notated.quarters
    assert max(len(event.tuplets) for event in part.events) == 2


def test_nested_tuplets_as_a_scorewriter_exports_them() -> None:
    """Source: music21's corpus, demos/nested_tuplet_finale_test."""
    corpus = Path(music21.__file__).parent / "corpus" / "demos"
    for name in ("nested_tuplet_finale_test.xml", "nested_tuplet_finale_test2.xml"):
        part = read_part(corpus / name)
        assert any(len(event.tuplets) == 2 for event in part.events)
        for event in part.events:
            ratio = Fraction(1)
            for each in event.tuplets:
                ratio *= Fraction(each.actual, each.normal)
            if event.notated is not None and event.grace is None:
                assert event.length * ratio == event.notated.quarters, (name, event.id)


def test_three_quavers_in_the_time_of_a_quarter() -> None:
    """Another note value below: three in the time of two all the same."""
    start = (
        '<tuplet type="start"><tuplet-actual><tuplet-number>3</tuplet-number>'
        "<tuplet-type>eighth</tuplet-type></tuplet-actual><tuplet-normal>"
        "<tuplet-number>1</tuplet-number><tuplet-type>quarter</tuplet-type></tuplet-normal>"
        "</tuplet>"
    )
    part = read(
        bars(
            triplet("C4", "D4", "E4", marks=(start, '<tuplet type="stop"/>'))
            + note("F4", 3, dots=1)
        )
    )
    assert groups(part.events)[0] == ("3:2",)


def test_a_bracket_on_every_note_of_a_chord_is_one_bracket() -> None:
    """Some programs repeat it (Schubert's Lindenbaum in music21's corpus does)."""
    start, stop = '<tuplet type="start" number="1"/>', '<tuplet type="stop" number="1"/>'
    third = Fraction(1, 3)
    part = read(
        bars(
            note("C4", third, ratio=(3, 2), notations=start)
            + note("E4", third, ratio=(3, 2), notations=start, chord=True)
            + note("D4", third, ratio=(3, 2))
            + note("C4", third, ratio=(3, 2), notations=stop)
            + note("E4", third, ratio=(3, 2), notations=stop, chord=True)
            + note("C4", 3, dots=1)
        )
    )
    assert sizes(part.events) == [3]
    assert told(part) == []


def test_a_tuplet_that_never_ends_is_closed_and_told() -> None:
    """The bracket is closed where the plain notes begin again."""
    part = read(
        bars(
            triplet("C4", "D4", "E4", marks=('<tuplet type="start"/>', "")) + note("F4", 3, dots=1)
        )
    )
    assert sizes(part.events) == [3]
    assert told(part) == [
        "bar 1, beat 2, staff 1: a tuplet without an end is closed at its last note"
    ]


def test_duple_time_within_six_eight() -> None:
    """Two quavers in the time of three: a duplet is longer, not shorter."""
    duplet = note("C4", "0.75", ratio=(2, 3), kind="eighth") + note(
        "D4", "0.75", ratio=(2, 3), kind="eighth"
    )
    part = read(bars(duplet + note("E4", "1.5", dots=1), first=opening(beats=6, beat_type=8)))
    assert groups(part.events)[:2] == [("2:3",), ("2:3",)]
    assert told(part) == []
