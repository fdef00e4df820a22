"""Repeated strings and chromatic runs."""

from __future__ import annotations

from dataclasses import replace

from part_builder import build_part

from pedalsetter.analysis.findings import judge_playing, with_all_findings
from pedalsetter.analysis.part import HarpPart, Tremolo
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, Severity
from pedalsetter.analysis.planning import plan_changes


def judged(part: HarpPart) -> tuple[Finding, ...]:
    """What is hard for the hands and the strings of a part."""
    return judge_playing(part, plan_changes(part))


def test_quick_repeats_on_one_string_choke_it() -> None:
    """Sixteenths on one string at 120 are an eighth of a second: the finger chokes the string.

    Source: H. Berlioz, *Grand traité*, "La Harpe", gives a pair of strings for such notes; how
    quick is too quick is common practice, no source.
    """
    (finding,) = judged(build_part("Cb5/s Cb5/s Cb5/s Cb5/s r/h.", tempo=120))

    assert (finding.kind, finding.severity) == (FindingKind.REPEATED_STRING, Severity.RISKY)
    assert finding.what == (
        "C♭5 is played four times on end, every 0.12 s: the returning finger chokes it."
    )
    assert len(finding.notes) == 4


def test_slow_repeats_are_no_finding() -> None:
    """Eighths at 60 leave the string half a second."""
    assert judged(build_part("C5/e C5/e C5/e C5/e r/h", tempo=60)) == ()


def test_a_string_without_a_pair_is_named() -> None:
    """D♮, G♮ and A♮ have no second string (computed from the 21 positions)."""
    (finding,) = judged(build_part("G4+B4/s G4+B4/s G4+B4/s r/s r/h.", tempo=80))

    assert finding.severity is Severity.UNCOMFORTABLE
    assert finding.what == (
        "G4 and B4 are played three times on end, every 0.19 s: they hardly ring; no other string "
        "sounds G4."
    )


def test_two_strings_in_turn_are_no_repetition() -> None:
    """C♭ and B♮ in turn sound one pitch on two strings (Berlioz, "La Harpe")."""
    assert judged(build_part("Cb5/s B4/s Cb5/s B4/s r/h.", tempo=120)) == ()


def test_a_written_out_trill_is_no_repetition() -> None:
    """Two neighbouring notes in turn are an old effect of the harp (common practice, no source)."""
    assert judged(build_part("E5/s F5/s E5/s F5/s E5/s F5/s E5/e r/h", tempo=120)) == ()


def test_a_tremolo_on_one_note_is_a_repetition() -> None:
    """Three strokes on a quarter are thirty-seconds on one string."""
    part = build_part("E5/q r/h.", tempo=72)
    event = replace(part.events[0], tremolo=Tremolo("single", 3))

    (finding,) = judged(replace(part, events=(event, *part.events[1:])))

    assert finding.kind is FindingKind.REPEATED_STRING
    assert finding.what.startswith("E5 is repeated in a tremolo, every 0.10 s")


RUN = "C4/s C#4/s D4/s D#4/s E4/s F4/s F#4/s G4/s G#4/s A4/s A#4/s B4/s C5/q"


def test_a_quick_chromatic_scale_is_told_as_one_thing() -> None:
    """A quick chromatic scale is impracticable (H. Berlioz, *Grand traité*, "La Harpe")."""
    part = build_part(RUN, tempo=120)

    (finding,) = [one for one in judged(part) if one.kind is FindingKind.CHROMATIC_RUN]

    assert finding.severity is Severity.UNPLAYABLE
    assert finding.what.startswith("A chromatic run of 13 notes from C4 to C5, 0.12 s a note: ")
    assert len(finding.notes) == 13


def test_a_slow_chromatic_scale_is_no_finding() -> None:
    """In quarters at 60 each foot has seconds (common practice, no source)."""
    part = build_part(
        "C4/q C#4/q D4/q D#4/q", "E4/q F4/q F#4/q G4/q", "G#4/q A4/q A#4/q B4/q", tempo=60
    )

    assert with_all_findings(part, plan_changes(part)).findings == ()


def test_five_semitones_that_lie_on_five_strings_are_no_run() -> None:
    """B♯ C♯ D E♭ F♭: five notes a semitone apart and no pedal moves (computed)."""
    part = build_part("C4/s C#4/s D4/s D#4/s E4/q r/h", tempo=120)

    assert not [one for one in judged(part) if one.kind is FindingKind.CHROMATIC_RUN]
