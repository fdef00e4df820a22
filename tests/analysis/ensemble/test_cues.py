"""Cues: which part is taken, where, and that nothing is planned for them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from example_scores import ORCHESTRAL_NOCTURNE
from part_builder import build_part

from pedalsetter.analysis.decisions.file import parse_decisions
from pedalsetter.analysis.ensemble.cues import with_cues
from pedalsetter.analysis.ensemble.full_score import FullScore, joined, read_full_score
from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.analysis.part import Direction, DirectionKind, HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.reports.decisions_text import decisions_text
from pedalsetter.engrave.road import mark_score, plan_score

REST = "r/w | r/w"
HARP = build_part("C4/w | C3/w", *[REST] * 4, "E4/w | E3/w")


def other(name: str, number: int, *bars: str, loud: str = "") -> HarpPart:
    """A part of one staff in the harp's score."""
    part = build_part(*bars)
    dynamic = Direction(f"{name} d", DirectionKind.DYNAMIC, 0, Fraction(0), 1, text=loud)
    return replace(
        part,
        staves=1,
        part_name=name,
        source=replace(part.source, part_number=number),
        directions=(dynamic,) if loud else (),
    )


def score(*others: HarpPart) -> FullScore:
    """The harp, first, among others."""
    return joined(replace(HARP, source=replace(HARP.source, part_number=1)), others)


LONG = "C5/w"
MOVING = "C5/q D5/q E5/q F5/q"


def test_the_moving_line_is_taken_and_the_two_last_bars_are_cued() -> None:
    """Beside a part that holds one note, the melody is what one counts by (common practice)."""
    whole = score(other("Flute", 2, *[LONG] * 6), other("Oboe", 3, *[MOVING] * 6))
    shown, (cue,), _ = with_cues(HARP, whole, 4)
    assert (cue.name, cue.first, cue.last, cue.notes) == ("Oboe", 3, 4, 8)
    small = [event for event in shown.events if event.cue]
    assert {event.bar for event in small} == {3, 4}
    assert all(event.small and event.staff == 1 for event in small)
    assert [one.text for one in shown.directions] == ["Ob."]


def test_of_two_melodies_the_louder_or_the_higher_is_taken() -> None:
    """What is heard best: loudness, then height."""
    flute = other("Flute", 2, *[MOVING] * 6, loud="p")
    oboe = other("Oboe", 3, *[MOVING] * 6, loud="ff")
    assert with_cues(HARP, score(flute, oboe), 4)[1][0].name == "Oboe"
    low = other("Bassoon", 3, *["C3/q D3/q E3/q F3/q"] * 6, loud="p")
    assert with_cues(HARP, score(low, flute), 4)[1][0].name == "Flute"
    (cue,) = with_cues(HARP, score(low), 4)[1]
    assert cue.told(HARP) == "bars 4 to 5 from Bassoon: 8 notes, p"
    assert {event.staff for event in with_cues(HARP, score(low), 4)[0].events if event.cue} == {2}


@pytest.mark.parametrize(
    ("others", "after"),
    [
        ((other("Flute", 2, *[MOVING] * 6),), 5),
        ((other("Flute", 2, *[MOVING] * 3, *["r/w"] * 3),), 4),
        ((), 4),
    ],
    ids=["a shorter rest", "nobody plays at its end", "no other part"],
)
def test_without_need_or_without_notes_there_is_no_cue(
    others: tuple[HarpPart, ...], after: int
) -> None:
    """A short rest needs none; silence gives none."""
    assert with_cues(HARP, score(*others), after) == (HARP, (), ())


def test_no_pedal_moves_for_a_cue() -> None:
    """The plan of the part with cues is that of the part without."""
    sharp = other("Flute", 2, *["C#5/q D#5/q E#5/q F#5/q"] * 6)
    shown, cues, _ = with_cues(HARP, score(sharp), 4)
    assert cues
    assert plan_changes(shown).changes == plan_changes(HARP).changes == ()


FLUTE = other("Flute", 2, *[MOVING] * 6)
HORN = other("Horn", 3, *[LONG] * 6)
BASSOON = other("Bassoon", 4, *["C3/q D3/q E3/q F3/q"] * 2, *["r/w"] * 4)
WHOLE = score(FLUTE, HORN, BASSOON)


def decided(text: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The cues as they are told, and why decisions were refused, after four bars of rest."""
    pins = parse_decisions(text).cues
    _, cues, results = with_cues(HARP, WHOLE, 4, pins)
    assert len(results) == len(pins)
    return tuple(cue.told(HARP) for cue in cues), tuple(one.refused for one in results)


def test_the_choice_tells_what_else_there_was() -> None:
    """So that one knows what may be decided instead."""
    assert decided("") == (("bars 4 to 5 from Flute: 8 notes (also there: Horn)",), ())


@pytest.mark.parametrize("bar", ["6", "3"])
@pytest.mark.parametrize("part", ['"Horn"', '"horn"', "3"])
def test_the_musician_says_whose_cue_it_is(bar: str, part: str) -> None:
    """By the bar of the entry or one of the rest, by name or by number in the score."""
    text = f'[[cue]]\nbar = "{bar}"\npart = {part}'
    assert decided(text) == (("bars 4 to 5 from Horn: 2 notes",), ("",))


def test_the_musician_wants_no_cue() -> None:
    """Then the part is as it was."""
    assert decided("[[cue]]\nbar = 6\nwanted = false") == ((), ("",))


def test_a_cue_is_had_where_the_style_wants_none() -> None:
    """The rest may be shorter than the style asks for, or the style want no cues at all."""
    pins = parse_decisions("[[cue]]\nbar = 6").cues
    for after in (0, 9):
        assert [cue.name for cue in with_cues(HARP, WHOLE, after, pins)[1]] == ["Flute"]
        assert with_cues(HARP, WHOLE, after)[1] == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ('bar = 6\npart = "Tuba"', "there is no part 'Tuba' in the score"),
        ("bar = 6\npart = 9", "there is no part '9' in the score"),
        ('bar = 6\npart = "Hron"', "Did you mean 'Horn'?"),
        ("bar = 6\npart = 1", "Harp is the harp itself"),
        ('bar = 6\npart = "Bassoon"', "Bassoon does not play at the end of the rest"),
        ("bar = 17", "there is no bar 17"),
        ("bar = 1", "the harp does not come in there after a bar of rest"),
        ("bar = 6\nmovement = 2", "there is no movement 2"),
    ],
)
def test_what_cannot_be_is_told(text: str, why: str) -> None:
    """A decision is never dropped without a word."""
    _, (told,) = decided(f"[[cue]]\n{text}")
    assert why in told


def test_of_two_decisions_about_a_rest_the_earlier_holds() -> None:
    """As for all other decisions."""
    cues, refused = decided("[[cue]]\nbar = 6\npart = 3\n[[cue]]\nbar = 4\nwanted = false")
    assert cues == ("bars 4 to 5 from Horn: 2 notes",)
    assert refused == ("", "another decision stands before it: cue in bar 6 from 3")


def test_what_was_decided_about_cues_stays_in_the_file() -> None:
    """Written with today's plan, read again: the same."""
    text = '[[cue]]\nbar = "6"\npart = "Horn"\n[[cue]]\nbar = "3"\nmovement = 1\nwanted = false'
    decisions = parse_decisions(text)
    written = decisions_text(HARP, plan_changes(HARP), decisions)
    assert parse_decisions(written).cues == decisions.cues


def test_no_part_is_named_where_no_cue_is_wanted() -> None:
    """It contradicts itself: one line."""
    with pytest.raises(DecisionsError, match="no cue is wanted"):
        parse_decisions('[[cue]]\nbar = 6\npart = "Horn"\nwanted = false')


@pytest.mark.engraving
def test_cues_of_a_whole_score_are_on_the_page() -> None:
    """Small notes at the pitch that sounds: those of the clarinet in B flat, transposed.

    Held against the score's own other part, as it is read for the reading score.
    """
    style = replace(load_house_style(), cue_after_rest_bars=8)
    planned = plan_score(ORCHESTRAL_NOCTURNE.path)
    whole = read_full_score(ORCHESTRAL_NOCTURNE.path, planned.part)
    shown, (cue,), _ = with_cues(planned.part, whole, style.cue_after_rest_bars)
    assert cue.name.startswith("Clarinet")
    player = next(one for one in whole.players if one.name == cue.name)
    sounding = [
        event.heads[-1].pitch
        for event in whole.part.events
        if event.staff == player.first and event.bar in (cue.first, cue.last) and event.heads
    ]
    assert [event.heads[0].pitch for event in shown.events if event.cue] == sounding
    result = mark_score(ORCHESTRAL_NOCTURNE.path, house_style="rental-part", dpi=None)
    assert result.cues == (cue,)
    assert result.proof.failures == ()
    assert '"Cl."' in result.source
    bar = planned.part.printed_bar(cue.last + 1)
    decisions = parse_decisions(f'[[cue]]\nbar = "{bar}"\nwanted = false')
    without = mark_score(
        ORCHESTRAL_NOCTURNE.path, house_style="rental-part", dpi=None, decisions=decisions
    )
    assert without.cues == ()
    assert [str(one.told) for one in without.planned.plan.decisions] == [f"no cue in bar {bar}"]
