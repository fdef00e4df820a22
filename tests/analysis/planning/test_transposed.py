"""A semitone up through spelling: every letter stays and every sign goes up by one.

Flats become naturals and naturals sharps, as from C♭ major to C major or from C major to C♯ major,
so every pedal does the same work one notch further down.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations, product

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from part_builder import build_part
from part_strategies import parts
from seeded_parts import small_part

from pedalsetter.analysis.decisions.values import Decisions, Respell
from pedalsetter.analysis.instrument.harp import LETTERS, NATURAL_PITCH_CLASS
from pedalsetter.analysis.part import Event, HarpPart
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, PedalPlan, Severity
from pedalsetter.analysis.planning import plan_as_written, plan_changes

AS_WRITTEN = Decisions(respell=Respell.NEVER)
NAMES = [(letter, alter) for letter in LETTERS for alter in (-1, 0)]
SIGNS = {-1: "b", 0: "", 1: "#"}

_planned = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def in_flats_and_naturals(part: HarpPart) -> HarpPart:
    """The same part with sharps taken away and a signature of flats, so that it can go up."""
    return _altered(part, lambda alter: max(-1, min(0, alter)), lambda fifths: min(0, fifths))


def a_semitone_up(part: HarpPart) -> HarpPart:
    """Each sign one higher on the same letter, and seven sharps more in each signature."""
    return _altered(part, lambda alter: alter + 1, lambda fifths: fifths + 7)


def _altered(part, sign, signature) -> HarpPart:  # type: ignore[no-untyped-def]
    events = tuple(
        replace(
            event,
            heads=tuple(
                replace(head, pitch=replace(head.pitch, alter=sign(head.pitch.alter)))
                for head in event.heads
            ),
        )
        for event in part.events
    )
    keys = tuple(replace(key, fifths=signature(key.fifths)) for key in part.keys)
    return replace(part, events=events, keys=keys)


def movements_of_the_feet(plan: PedalPlan, notches: int = 0) -> list[tuple[object, ...]]:
    """Which pedal moves where, between which positions; all of them ``notches`` further down."""
    return [
        (change.place, change.letter, change.old + notches, change.new + notches)
        for change in plan.changes
    ]


def told(plan: PedalPlan, *severities: Severity) -> list[tuple[object, ...]]:
    """What is said of which notes at which places."""
    return [
        (finding.kind, finding.severity, finding.place, finding.notes)
        for finding in plan.findings
        if finding.severity in (severities or tuple(Severity)) and not tuned_beforehand(finding)
    ]


def tuned_beforehand(finding: Finding) -> bool:
    """Whether it only says how C1 or D1 is to be tuned, which is not said of a natural."""
    return finding.kind is FindingKind.NO_PEDAL and finding.severity is Severity.REMARK


def lost_notes(plan: PedalPlan) -> set[str]:
    """Notes that cannot sound."""
    return {use.note for use in plan.strings.values() if use.sounding is None}


@settings(_planned, max_examples=40)
@given(parts(most_bars=1))
def test_as_written_the_feet_do_the_same_one_notch_down(part: HarpPart) -> None:
    """Where no note is respelled, transposing changes no move, no cost and no finding.

    The reason: a pedal knows no keys. The same letters are needed at the same moments, each one
    notch lower; flat to natural is as far as natural to sharp. The compass is one of strings and
    not of pitches, and the two lowest strings, which no pedal reaches, are tuned beforehand, so
    these limits do not move either. (Only the remark how those two are to be tuned is made for
    flats and sharps alone.)

    Left out: a trill on the top string, whose upper note the harp has not; on G♮7 that note may be
    sought on the G string itself, as G♯7, and a semitone higher nowhere.
    """
    assume(not any(event.ornaments and top_string(event) for event in part.events))
    same_one_notch_down(part)


def top_string(event: Event) -> bool:
    """Whether a note of G7 or above is struck."""
    return any(head.pitch.octave >= 7 and head.pitch.letter.value in "GAB" for head in event.heads)


@pytest.mark.parametrize("seed", range(0, 60, 3))
def test_through_repeats_too_the_feet_do_the_same(seed: int) -> None:
    """The settings at the turn of a repeat go one notch down with all others."""
    same_one_notch_down(small_part(seed, most_onsets=10))


def same_one_notch_down(part: HarpPart) -> None:
    """Asserts that moves, cost and findings stay when the part goes up, nothing being respelled."""
    low = in_flats_and_naturals(part)
    high = a_semitone_up(low)
    before = plan_changes(low, decisions=AS_WRITTEN)
    after = plan_changes(high, decisions=AS_WRITTEN)
    assert movements_of_the_feet(after) == movements_of_the_feet(before, notches=1)
    assert after.cost == before.cost
    assert after.cost_terms == before.cost_terms
    assert told(after) == told(before)
    assert lost_notes(after) == lost_notes(before)


@settings(_planned, max_examples=40)
@given(parts(most_bars=1, plain=True))
def test_only_respelling_tells_the_two_apart(part: HarpPart) -> None:
    """With respelling allowed, the plans differ only by what a respelled note saves.

    The reason: sharps all have a second string, of the naturals only C, E, F and B, and of the
    flats all again. So either part may be helped by a string that the other has not; where a plan
    respells nothing it would serve the other part as well, which then costs no more.
    """
    low = in_flats_and_naturals(part)
    plans = (plan_changes(low), plan_changes(a_semitone_up(low)))
    unaided = plan_changes(low, decisions=AS_WRITTEN).cost
    for plan, other in (plans, plans[::-1]):
        assert plan.cost <= unaided
        if not plan.respelled and plan.proved_optimal:
            assert plan.cost == unaided
            assert other.cost <= plan.cost
    if not any(plan.respelled for plan in plans):
        assert lost_notes(plans[0]) == lost_notes(plans[1])
        assert told(plans[0], Severity.UNPLAYABLE) == told(plans[1], Severity.UNPLAYABLE)


@cache
def ways_to_play(letter_and_alter: tuple[object, int]) -> frozenset[tuple[object, int]]:
    """Letters and positions that sound a note."""
    letter, alter = letter_and_alter
    pitch_class = (NATURAL_PITCH_CLASS[letter] + alter) % 12  # type: ignore[index]
    return frozenset(
        (other, position)
        for other in LETTERS
        for position in (-1, 0, 1)
        if (NATURAL_PITCH_CLASS[other] + position) % 12 == pitch_class
    )


def least_lost(chord: tuple[tuple[object, int], ...]) -> int:
    """How many notes of a chord the best of all settings leaves out, found by trying all."""
    best = len(chord)
    for taken in product(*[(*ways_to_play(note), None) for note in chord]):
        used = [way for way in taken if way is not None]
        if len(dict(used)) == len(set(used)):
            best = min(best, len(chord) - len(used))
    return best


@pytest.mark.parametrize("size", [2, 3, 4])
def test_a_chord_differs_only_where_a_pitch_class_has_another_number_of_strings(size: int) -> None:
    """Whether a chord can be played may change by a semitone; D, G and A natural are the reason.

    Of all chords in flats and naturals, those of which more notes or fewer can sound a semitone
    higher all hold a note that has two strings in one place and one in the other: D, G or A as a
    flat that becomes natural, or as a natural that becomes sharp (strings per pitch class: nine
    have two, D, G and A natural one; H. Berlioz, "La Harpe"). Found by going through all of them.
    """
    others = 0
    for chord in combinations(NAMES, size):
        higher = tuple((letter, alter + 1) for letter, alter in chord)
        if least_lost(chord) != least_lost(higher):
            others += 1
            assert [len(ways_to_play(note)) for note in chord] != [
                len(ways_to_play(note)) for note in higher
            ]
    assert others == {2: 0, 3: 2, 4: 36}[size]


@_planned
@given(st.lists(st.lists(st.sampled_from(NAMES), min_size=1, max_size=5, unique=True), max_size=6))
def test_a_plan_loses_what_no_setting_can_give(chords: list[list[tuple[object, int]]]) -> None:
    """With time between chords, each loses as many notes as it must, before and after.

    So the number of notes that cannot be played differs only by the chords of the test above.
    """
    chords = chords or [[NAMES[0]]]
    for notches in (0, 1):
        moved = [tuple((letter, alter + notches) for letter, alter in chord) for chord in chords]
        bars = [
            "+".join(f"{letter.value}{SIGNS[alter]}4" for letter, alter in chord) + "/w"  # type: ignore[attr-defined]
            for chord in moved
        ]
        plan = plan_changes(build_part(*[bar for one in bars for bar in (one, "r/w", "r/w")]))
        lost = lost_notes(plan)
        for number, chord in enumerate(moved):
            here = [note for note in lost if note.startswith(f"b{3 * number}s")]
            assert len(here) == least_lost(chord)
        finding_places = {
            finding.place.bar
            for finding in plan.findings
            if finding.severity is Severity.UNPLAYABLE
        }
        assert finding_places == {3 * n for n, chord in enumerate(moved) if least_lost(chord)}


@settings(_planned, max_examples=40)
@given(parts(most_bars=1))
def test_the_plan_as_written_goes_up_too(part: HarpPart) -> None:
    """The plan of the written letters is the same one notch down where no letter is asked twice.

    Where one moment asks a letter for two positions even this plan takes another string, and that
    one is not the same a semitone higher.
    """
    low = in_flats_and_naturals(part)
    before, after = plan_as_written(low), plan_as_written(a_semitone_up(low))
    if before.respelled or after.respelled or lost_notes(before) or lost_notes(after):
        return
    assert movements_of_the_feet(after) == movements_of_the_feet(before, notches=1)
    assert after.cost == before.cost
