"""Two harps' parts that one harpist could play."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from part_builder import build_part

from pedalsetter.analysis.errors import PartError
from pedalsetter.analysis.findings.shared import joined, shareable
from pedalsetter.analysis.part import Place, Section, SectionReason
from pedalsetter.analysis.pedal_plan import FindingKind, Severity


def test_two_easy_parts_are_one_harps_work() -> None:
    """Three notes and three notes are six fingers of eight, and no pedal moves."""
    (finding,) = shareable(build_part("C5+E5+G5/w"), build_part("r/w | C3+G3+C4/w"))

    assert (finding.kind, finding.severity) == (FindingKind.SHAREABLE, Severity.REMARK)
    assert finding.what == "One harp could play both harps' parts from beginning to end."


def test_two_settings_at_once_want_two_harps() -> None:
    """F♮ with F♯, and both neighbours taken: one harp has no string for one of them.

    Source: H. Berlioz, *Grand traité*, "La Harpe": one letter cannot be struck in two alterations.
    """
    assert shareable(build_part("E4+F4+G4/w"), build_part("F#5/w")) == ()


def test_ten_notes_want_four_hands() -> None:
    """Eight fingers of two hands (Rimsky-Korsakov, *Principles*, ch. I, "Harp")."""
    one, other = build_part("C5+E5+G5+C6/w | C3+E3/w"), build_part("D5+F5+A5+B5/w | r/w")

    assert shareable(one, other) == ()


def test_each_section_is_judged_by_itself() -> None:
    """Where one section cannot be shared, the others may be."""
    sections = tuple(Section(bar, (SectionReason.REHEARSAL,)) for bar in (0, 2, 3))
    one = replace(build_part("C4/w", "C4/w", "E4+F4+G4/w", "C4/w"), sections=sections)
    other = build_part("E5/w", "E5/w", "F#5/w", "E5/w")

    found = shareable(one, other)

    assert [finding.what for finding in found] == [
        "One harp could play both harps' parts from bar 1 to bar 2.",
        "One harp could play both harps' parts in bar 4.",
    ]
    assert found[1].place == Place(3, Fraction(0))


def test_a_section_in_which_one_harp_rests_is_no_finding() -> None:
    """Nobody asks for a second player where the second part is silent."""
    assert shareable(build_part("C4/w"), build_part("r/w")) == ()


def test_parts_of_different_scores_cannot_be_joined() -> None:
    """Bars must be the same."""
    with pytest.raises(PartError) as caught:
        joined(build_part("C4/w"), build_part("C4/w", "D4/w"))

    assert str(caught.value) == (
        "built.musicxml: Harp and Harp have different bars. Give two parts of one score."
    )
