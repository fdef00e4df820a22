"""Every kind of finding against what is printed about the harp, each check with its source.

Together with ``test_planning_facts.py`` and ``test_string_facts.py``, which hold plans and strings.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from part_builder import build_part

from pedalsetter.analysis.findings import with_all_findings
from pedalsetter.analysis.findings.shared import shareable
from pedalsetter.analysis.part import Arpeggio, HarpPart
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, Severity
from pedalsetter.analysis.planning import plan_changes


def found(part: HarpPart) -> tuple[Finding, ...]:
    """All findings of a part."""
    return with_all_findings(part, plan_changes(part)).findings


def kinds(part: HarpPart) -> set[tuple[FindingKind, Severity]]:
    """Kinds of findings with their severities."""
    return {(one.kind, one.severity) for one in found(part)}


IMPOSSIBLE_SETS = (
    # Three pitch classes: exactly one of 220. Four: these, and those that hold G, A♭ and A.
    "G4+Ab4+A4",
    "B3+C4+C#4+D4",
    "A4+Bb4+B4+C5",
    "D4+Eb4+E4+F4",
    "E4+F4+F#4+G4",
)


@pytest.mark.parametrize("chord", IMPOSSIBLE_SETS)
def test_sets_that_no_setting_sounds(chord: str) -> None:
    """Computed by going through all 2,187 settings: 1 of 220 triples, 13 of 495 quadruples."""
    (finding,) = [one for one in found(build_part(f"{chord}/w")) if one.severity is not _REMARK]

    assert finding.kind in (FindingKind.TWO_POSITIONS, FindingKind.NO_SETTING)
    assert finding.severity is Severity.UNPLAYABLE
    assert len(finding.notes) == 1


_REMARK = Severity.REMARK


@pytest.mark.parametrize("chord", ["C4+C#4", "F3+F#5", "G4+Ab4", "B3+C4+C#4", "D4+Eb4+E4"])
def test_sets_that_some_setting_sounds(chord: str) -> None:
    """All 66 pairs and 219 of 220 triples can sound together (computed)."""
    assert Severity.UNPLAYABLE not in {one.severity for one in found(build_part(f"{chord}/w"))}


@pytest.mark.parametrize(
    ("name", "outside"),
    [
        ("C1", False),
        ("G7", False),
        ("Bb0", True),
        ("B0", False),
        ("A7", True),
        ("Cb1", False),
        ("G#7", False),
    ],
)
def test_the_compass_is_c1_to_g7(name: str, outside: bool) -> None:
    """47 strings from C1 to G7 (C.-M. Widor, *Initiation musicale*, p. 45); B0 is C♭1, the lowest.

    Widor's lowest note is C♭1, with all pedals up.
    """
    said = {one.kind for one in found(build_part(f"{name}/w"))}

    assert (FindingKind.OUT_OF_RANGE in said) is outside


@pytest.mark.parametrize("name", ["C", "D"])
def test_the_two_lowest_strings_have_no_pedal(name: str) -> None:
    """C1 and D1 are tuned by hand and cannot change (Wikipedia, "Pedal harp"; common practice)."""
    part = build_part(f"{name}1/w", f"{name}#1/w")
    octave_higher = build_part(f"{name}2/w", f"{name}#2/w", tempo=60)

    assert (FindingKind.NO_PEDAL, Severity.UNPLAYABLE) in kinds(part)
    assert kinds(octave_higher) == set()


@pytest.mark.parametrize(
    ("tempo", "severity"),
    [
        (30, None),
        (60, None),
        (100, Severity.UNCOMFORTABLE),
        (140, Severity.UNPLAYABLE),
    ],
)
def test_half_a_second_is_comfortable_and_a_quarter_the_limit(
    tempo: int, severity: Severity | None
) -> None:
    """One foot, one notch: 0.5 s or more, 0.25 to 0.5 s, less (common practice, no source).

    D♮ and D♯ an eighth apart, with E♭ barred by E and F, and D♮ needed before.
    """
    part = build_part("D4/q r/h.", "r/q. D4/e D#4+E4+F4/q r/q", "r/w", tempo=tempo)

    said = {
        one.severity
        for one in found(part)
        if one.kind in (FindingKind.FOOT_TOO_FAST, FindingKind.FOOT_HURRIED)
    }
    assert said == ({severity} if severity else set())


def test_a_pedal_under_a_ringing_string_is_heard() -> None:
    """A slide or buzz, in every octave of the letter (common practice, no source)."""
    part = build_part("F5/w~", "F5/w | r/h E3+G3+F#4/h", tempo=60)

    assert (FindingKind.RINGING, Severity.RISKY) in kinds(part)


def test_four_notes_a_hand() -> None:
    """At most four notes in each hand (N. Rimsky-Korsakov, *Principles*, ch. I, "Harp")."""
    eight = build_part("C4+E4+G4+C5/w | C2+E2+G2+C3/w")
    nine = build_part("C4+E4+G4+C5/w | C2+E2+G2+B2+C3/w")

    assert kinds(eight) == set()
    assert kinds(nine) == {(FindingKind.HAND_FULL, Severity.UNPLAYABLE)}


def test_chords_are_broken_unless_it_is_forbidden() -> None:
    """An unbroken chord must be asked for (N. Rimsky-Korsakov, *Principles*, ch. I, "Harp").

    So two octaves in one hand are risky as they stand, and impossible where breaking is forbidden.
    """
    part = build_part("C6+E6/w | C2+C4/w")
    forbidden = replace(
        part,
        events=tuple(replace(event, arpeggio=Arpeggio("bracket")) for event in part.events),
    )

    assert kinds(part) == {(FindingKind.WIDE_SPAN, Severity.RISKY)}
    assert kinds(forbidden) == {(FindingKind.WIDE_SPAN, Severity.UNPLAYABLE)}


@pytest.mark.parametrize(("low", "wide"), [("C3", False), ("B2", True)])
def test_a_hand_spans_a_tenth(low: str, wide: bool) -> None:
    """Ten strings in comfort, more for some players (common practice, from memory)."""
    part = build_part(f"C6+E6/w | {low}+E4/w")

    assert (FindingKind.WIDE_SPAN in {one.kind for one in found(part)}) is wide


def test_quick_repeats_want_a_pair_of_strings() -> None:
    """Repeated C♭ is played in turn on C♭ and B♮ (H. Berlioz, *Grand traité*, "La Harpe")."""
    one_string = build_part("Cb5/s Cb5/s Cb5/s Cb5/s r/h.", tempo=120)
    pair = build_part("Cb5/s B4/s Cb5/s B4/s r/h.", tempo=120)

    assert kinds(one_string) == {(FindingKind.REPEATED_STRING, Severity.RISKY)}
    assert kinds(pair) == set()


def test_a_quick_chromatic_scale_is_impracticable() -> None:
    """Two quick octaves of semitones (H. Berlioz, *Grand traité*, "La Harpe", djvu p. 83)."""
    octave = (
        "C{0}/s C#{0}/s D{0}/s D#{0}/s E{0}/s F{0}/s F#{0}/s G{0}/s G#{0}/s A{0}/s A#{0}/s B{0}/s"
    )
    part = build_part(f"{octave.format(4)} r/q", f"{octave.format(5)} r/q", tempo=120)

    said = [one for one in found(part) if one.kind is FindingKind.CHROMATIC_RUN]

    assert {one.severity for one in said} == {Severity.UNPLAYABLE}
    assert len(said) == 2


@pytest.mark.parametrize(
    ("written", "played"),
    [
        ("Bbb4", "A♮"),
        ("Ebb4", "D♮"),
        ("Abb4", "G♮"),
        ("F##4", "G♮"),
        ("C##4", "D♮"),
        ("G##4", "A♮"),
    ],
)
def test_a_double_alteration_tells_how_it_is_played(written: str, played: str) -> None:
    """Six of the fourteen sound D, G or A and have one string each (computed)."""
    (finding,) = found(build_part(f"{written}/w"))

    assert (finding.kind, finding.severity) == (FindingKind.DOUBLE_ALTERATION, Severity.REMARK)
    assert f"is played as {played}" in finding.what


def test_a_glissando_sounds_all_seven_strings() -> None:
    """C♯ struck with a glissando on C♮: one pedal, two positions (follows; common practice)."""
    part = build_part("C4/hgl< C6/hgl> | C#3/w")

    assert (FindingKind.GLISSANDO, Severity.RISKY) in kinds(part)


def test_a_repeat_is_entered_with_the_setting_that_its_start_expects() -> None:
    """Changes that the repeat undoes must have a moment to be made in (common practice)."""
    tight = build_part("F#4+E4+G4/x F4+E4+G4/x r/h... r/t", repeats={0: 2}, tempo=240)
    roomy = build_part("F#4+E4+G4/h F4+E4+G4/q r/q", repeats={0: 2}, tempo=60)

    assert Severity.UNPLAYABLE in {severity for _, severity in kinds(tight)}
    assert Severity.UNPLAYABLE not in {severity for _, severity in kinds(roomy)}


def test_two_parts_of_eight_fingers_and_one_setting_are_one_harps() -> None:
    """What two hands and seven pedals can do needs no second harp (follows; no source)."""
    told = shareable(build_part("C5+E5+G5/w"), build_part("r/w | C3+G3+C4/w"))

    assert [one.kind for one in told] == [FindingKind.SHAREABLE]


def test_each_kind_has_a_code_in_plain_words() -> None:
    """A code is lower case with hyphens, and no two kinds share one (ours)."""
    codes = [kind.code for kind in FindingKind]

    assert len(set(codes)) == len(codes)
    assert all(code.replace("-", "").isalpha() and code.islower() for code in codes)
