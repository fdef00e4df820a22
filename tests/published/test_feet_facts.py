"""What the feet and the strings allow, asked of whole plans; each check with its source."""

from __future__ import annotations

from itertools import combinations

import pytest
from part_builder import build_part

from pedalsetter.analysis.instrument.harp import Letter, Setting
from pedalsetter.analysis.pedal_plan import FindingKind, Severity
from pedalsetter.analysis.planning import plan_changes

NAMES = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"]


@pytest.mark.parametrize("one", range(12))
def test_any_two_pitch_classes_sound_together(one: int) -> None:
    """All 66 pairs have a setting (computed from the strings of each pitch class)."""
    for pair in combinations(range(12), 2):
        if one == pair[0]:
            plan = plan_changes(build_part("+".join(NAMES[each] + "4" for each in pair) + "/w"))
            assert all(use.sounding is not None for use in plan.strings.values())


@pytest.mark.parametrize(("sharp", "flat"), [(5, -7), (6, -6), (7, -5)])
def test_an_enharmonic_change_of_key_is_never_free(sharp: int, flat: int) -> None:
    """B to C♭, F♯ to G♭, C♯ to D♭ major: the same sounds, seven pedals, twelve notches (computed).

    Played as written it takes them all; the planner may respell instead, which it tells.
    """
    chords = [
        "+".join(
            f"{letter.value}{ {-1: 'b', 0: '', 1: '#'}[int(position)] }4".replace(" ", "")
            for letter, position in Setting.of_key(fifths)
        )
        for fifths in (sharp, flat)
    ]
    plan = plan_changes(build_part(f"{chords[0]}/w", "r/w", "r/w", f"{chords[1]}/w", key=sharp))
    assert len(plan.changes) == 7
    assert sum(change.old.notches_to(change.new) for change in plan.changes) == 12


def test_a_tie_across_a_change_of_its_letter_is_a_conflict() -> None:
    """Nothing is struck again, and yet the pedal would be heard (follows from the mechanism).

    F♮ is tied over while F♯ is wanted above. It is played as E♯, unless E sounds too.
    """
    plan = plan_changes(build_part("F4+G4/w~ | r/w", "F4+G4/w | r/h F#5/h"))
    assert plan.strings["b0s1n0h0"].sounding.name == "E♯"  # type: ignore[union-attr]
    assert plan.changes == ()
    plan = plan_changes(build_part("E4+F4+G4/w~ | r/w", "E4+F4+G4/w | r/h F#5/h"))
    assert FindingKind.RINGING in {finding.kind for finding in plan.findings}


def test_a_letter_without_notes_moves_early_or_not_at_all() -> None:
    """A letter that a passage does not use is free: it stands until its own need (follows)."""
    plan = plan_changes(build_part("C4/q E4/q G4/q C5/q", "C4/q E4/q G4/q F#5/q", "F#4/w"))
    assert {change.letter for change in plan.changes} == set()
    assert plan.movements[0].opening[Letter.F].sign == "♯"


def test_no_pedal_moves_during_a_glissando() -> None:
    """Every string is swept, so a change would be heard (common practice, no source)."""
    plan = plan_changes(build_part("C4/hgl< C6/qgl> F#5/q", "r/w"))
    assert all(change.place.offset >= 2 or change.place.offset == 0 for change in plan.changes)
    assert not [one for one in plan.findings if one.severity is Severity.UNPLAYABLE]
