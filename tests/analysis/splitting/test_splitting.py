"""A part for two harps: both can play, few notes move, phrases stay whole."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from random import Random

import pytest
from part_builder import build_part

from pedalsetter.analysis.findings import altered, with_all_findings
from pedalsetter.analysis.part import Beam, Direction, DirectionKind, HarpPart
from pedalsetter.analysis.pedal_plan import FindingKind, NoteEdit, Severity
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.splitting import split_part
from pedalsetter.analysis.splitting.halves import halves
from pedalsetter.analysis.splitting.phrases import CUT, Phrases

DYNAMIC, WEDGE, WEDGE_END = (
    DirectionKind.DYNAMIC,
    DirectionKind.WEDGE_START,
    DirectionKind.WEDGE_STOP,
)


def ids(part: HarpPart) -> list[str]:
    """All noteheads of a part."""
    return [head.id for _, head in part.notes()]


def unplayable(part: HarpPart) -> int:
    """How many findings cannot be played, by a plan of its own."""
    plan = with_all_findings(part, plan_changes(part))
    return sum(one.severity is Severity.UNPLAYABLE for one in plan.findings)


def without(part: HarpPart, notes: Iterable[str]) -> HarpPart:
    """The part with these notes out."""
    return altered(part, [NoteEdit(note, None) for note in notes])


def fewest_by_trying_all(part: HarpPart) -> int | None:
    """The least number of notes to move, found by trying every set of them."""
    every = ids(part)
    for size in range(len(every)):
        for moved in combinations(every, size):
            if not unplayable(without(part, moved)) and not unplayable(
                without(part, set(every) - set(moved))
            ):
                return size
    return None


def test_a_clash_gives_one_note_to_the_second_harp() -> None:
    """F and F♯ with E and G: one of four notes is enough (Berlioz, "La Harpe": one must go)."""
    part = build_part("C5/w", "E4+F4+G4+F#5/w", "C5/w")

    split = split_part(part)

    assert split.suffices
    assert len(split.moved) == 1
    assert [len(ids(half)) for half in split.parts] == [5, 1]


def test_a_part_that_one_harp_can_play_stays_whole() -> None:
    """Nothing goes where nothing is wrong."""
    split = split_part(build_part("C4/q D4/q E4/q F4/q"))

    assert (split.moved, split.suffices, split.cost) == ((), True, 0)
    assert ids(split.parts[1]) == []


def test_what_no_harp_has_stays_and_is_told() -> None:
    """A7 lies above the top string of both: two harps do not suffice."""
    split = split_part(build_part("A7/w", "E4+F4+G4+F#5/w"))

    assert not split.suffices
    ((harp, finding),) = split.unplayable
    assert (harp, finding.kind) == (1, FindingKind.OUT_OF_RANGE)
    assert len(split.moved) == 1


def test_seventeen_notes_at_once_want_three_harps() -> None:
    """Two harps are four hands with sixteen fingers (Rimsky-Korsakov: four notes a hand)."""
    upper = "C4+D4+E4+F4+G4+A4+B4+C5+D5"
    lower = "C2+D2+E2+F2+G2+A2+B2+C3"

    split = split_part(build_part(f"{upper}/w | {lower}/w"))

    assert not split.suffices
    assert {finding.kind for _, finding in split.unplayable} == {FindingKind.HAND_FULL}
    assert split_part(build_part(f"{upper.removesuffix('+D5')}/w | {lower}/w")).suffices


def test_nine_notes_at_once_are_shared() -> None:
    """Nine fingers are wanted, two hands have eight (Rimsky-Korsakov): one note moves."""
    split = split_part(build_part("C4+D4+E4+G4+A4/w | C2+E2+G2+C3/w"))

    assert split.suffices
    assert len(split.moved) == 1


def test_a_string_without_pedal_is_tuned_otherwise_on_the_second_harp() -> None:
    """C1 has no pedal: C♮1 on one harp, C♯1 on the other (common practice)."""
    split = split_part(build_part("C1/w", "C#1/w", "C1/w"))

    assert split.suffices
    assert split.moved == ("b1s1n0h0",)


@pytest.mark.parametrize("seed", range(8))
def test_no_fewer_notes_could_be_moved(seed: int) -> None:
    """Against every set of notes of a crowded chord, tried one by one."""
    random = Random(seed)  # noqa: S311 - a choice of chords, no secret
    names = [f"{letter}{sign}" for letter in "DEFGA" for sign in ("b", "", "#")]
    chord = "+".join(f"{name}4" for name in random.sample(names, 6))
    part = build_part(f"{chord}/w")

    split = split_part(part)

    fewest = fewest_by_trying_all(part)
    assert split.suffices == (fewest is not None)
    if fewest is not None:
        assert len(split.moved) == fewest


RUN = "C4/s C#4/s D4/s D#4/s E4/s F4/s F#4/s G4/s G#4/s A4/s A#4/s B4/s C5/q"


def test_a_chromatic_run_is_shared_so_that_both_can_play() -> None:
    """What a single harp cannot, two can (quick chromatic scales: Berlioz, "La Harpe")."""
    part = build_part("r/w", RUN, "r/w", tempo=120)
    assert unplayable(part)

    split = split_part(part)

    assert split.suffices
    assert sorted(ids(split.parts[0]) + ids(split.parts[1])) == sorted(ids(part))
    assert 0 < len(split.moved) < 13


def test_every_note_is_played_by_one_of_the_two() -> None:
    """The halves have together what the part had, ties and all, and each bar is full."""
    part = build_part(
        "C4+E4/q~ C4+E4/q D4/e E4/e r/q | C3/w", "F4/e3 G4/e3 A4/e3 B4/h. | r/w", "C5/w | C3/w"
    )
    moved = {head.id for event, head in part.notes() if event.staff == 1 and event.bar < 2}

    first, second = halves(part, moved)

    assert set(ids(second)) == moved
    assert set(ids(first)) == set(ids(part)) - moved
    assert (first.part_name, second.part_name) == ("Harp 1", "Harp 2")
    for half in (first, second):
        assert len({event.id for event in half.events}) == len(half.events)
        for bar in half.bars:
            for staff in (1, 2):
                length = sum(
                    (
                        event.length
                        for event in half.events
                        if event.bar == bar.index and event.staff == staff
                    ),
                    Fraction(0),
                )
                assert length == bar.length, (half.part_name, bar.number, staff)


def test_rests_are_as_long_as_their_place_lets_them() -> None:
    """Three eighths of silence after an eighth: an eighth rest and a quarter rest, not three."""
    part = build_part("C4/e D4/e E4/e F4/e G4/h")

    first, _ = halves(part, {"b0s1n1h0", "b0s1n2h0", "b0s1n3h0"})

    assert [(event.is_rest, event.length) for event in first.events if event.staff == 1] == [
        (False, Fraction(1, 2)),
        (True, Fraction(1, 2)),
        (True, Fraction(1)),
        (False, Fraction(2)),
    ]


def test_a_cut_phrase_costs_as_much_as_some_notes() -> None:
    """Two notes of three under a beam cost two notes and the cut; all three cost three notes."""
    part = build_part("C4/e D4/e E4/e r/e r/h")
    beams = (Beam.BEGIN, Beam.CONTINUE, Beam.END)
    events = tuple(
        replace(event, beam=beams[number]) if number < 3 else event
        for number, event in enumerate(part.events)
    )
    phrases = Phrases(replace(part, events=events))
    notes = ids(part)

    assert phrases.price(notes[:2]) == 2 + CUT
    assert phrases.price(notes) == 3
    assert phrases.beam_of(notes[0]) == frozenset(notes)


def signed(*signs: tuple[DirectionKind, int, Fraction | int, str]) -> HarpPart:
    """Four bars of quarters with directions at (kind, bar, beat from 0, text)."""
    part = build_part(*["C5/q E5/q G5/q C6/q"] * 4)
    return replace(
        part,
        directions=tuple(
            Direction(f"d{n}", kind, bar, part.bars[bar].start + beat, 1, text=text)
            for n, (kind, bar, beat, text) in enumerate(signs)
        ),
    )


def second_signs(part: HarpPart, *moved: int) -> list[tuple[DirectionKind, int, Fraction, str]]:
    """Kind, bar, beat and text of what the second harp has, given notes by their number."""
    every = ids(part)
    _, second = halves(part, [every[number] for number in moved])
    return [
        (one.kind, one.bar, one.onset - part.bars[one.bar].start, one.text)
        for one in second.directions
    ]


def test_a_dynamic_goes_to_the_harp_s_own_next_note() -> None:
    """Common practice, no source: nobody plays *f* over a rest."""
    part = signed((DYNAMIC, 0, 0, "f"))
    assert second_signs(part, 2, 3) == [(DYNAMIC, 0, 2, "f")]
    assert second_signs(part, 0) == [(DYNAMIC, 0, 0, "f")]


def test_a_dynamic_waits_for_an_entry_bars_later() -> None:
    """A harp that comes in there would have none; another dynamic in between takes its place."""
    assert second_signs(signed((DYNAMIC, 0, 0, "f")), 9) == [(DYNAMIC, 2, 1, "f")]
    both = signed((DYNAMIC, 0, 0, "f"), (DYNAMIC, 1, 0, "p"))
    assert second_signs(both, 9) == [(DYNAMIC, 2, 1, "p")]
    assert second_signs(both, 3, 9) == [(DYNAMIC, 0, 3, "f"), (DYNAMIC, 2, 1, "p")]


def test_an_accent_that_lasts_for_one_note_does_not_wait() -> None:
    """An *sfz* on notes of the other harp is not this one's."""
    assert second_signs(signed((DYNAMIC, 0, 0, "sfz")), 9) == []


def test_a_hairpin_is_drawn_in_to_the_harp_s_notes() -> None:
    """It begins with the first note under it and ends with the last one's end."""
    part = signed((WEDGE, 0, 0, ""), (WEDGE_END, 1, 3, ""))
    assert second_signs(part, 2, 4) == [(WEDGE, 0, 2, ""), (WEDGE_END, 1, 1, "")]
    assert second_signs(part, 9) == []
    assert second_signs(part, 0, 7) == [(WEDGE, 0, 0, ""), (WEDGE_END, 1, 3, "")]


def test_all_signs_of_the_halves_lie_on_their_own_notes() -> None:
    """Dynamics at notes and hairpins between notes, for parts divided by chance."""
    part = signed(
        *((DYNAMIC, bar, beat, text) for bar, beat, text in ((0, 0, "p"), (1, 2, "ff"))),
        (WEDGE, 2, 0, ""),
        (WEDGE_END, 3, 2, ""),
    )
    for seed in range(30):
        chance = Random(seed)  # noqa: S311
        moved = [note for note in ids(part) if chance.random() < 0.4]
        for half in halves(part, moved):
            onsets = {event.onset for event in half.events if event.heads}
            dynamics = [one for one in half.directions if one.kind is DYNAMIC]
            assert all(one.onset in onsets for one in dynamics)
            begins = [one.onset for one in half.directions if one.kind is WEDGE]
            stops = [one.onset for one in half.directions if one.kind is WEDGE_END]
            assert len(begins) == len(stops)
            assert all(begin in onsets for begin in begins)
            assert all(begin < stop for begin, stop in zip(begins, stops, strict=True))
