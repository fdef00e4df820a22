"""Mends that have been tried: what is offered helps, and what does not help is not offered."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from part_builder import build_part, pitch

from pedalsetter.analysis.findings import (
    altered,
    effect_told,
    judge_playing,
    with_all_findings,
    with_mends,
)
from pedalsetter.analysis.part import HarpPart, SpannerEnd, Tremolo
from pedalsetter.analysis.pedal_plan import (
    Finding,
    FindingKind,
    Mend,
    MendKind,
    NoteEdit,
    PedalPlan,
    Severity,
)
from pedalsetter.analysis.planning import plan_changes


def mended(part: HarpPart) -> PedalPlan:
    """The plan of a part with all findings and their mends."""
    return with_mends(part, with_all_findings(part, plan_changes(part)))


def only(plan: PedalPlan, kind: FindingKind) -> Finding:
    """The one finding of a kind that is no remark."""
    (finding,) = (
        one for one in plan.findings if one.kind is kind and one.severity is not Severity.REMARK
    )
    return finding


def by_kind(finding: Finding) -> dict[MendKind, Mend]:
    """The mends of a finding."""
    return {mend.kind: mend for mend in finding.mends}


MISPRINTED = (
    "D4+A4/q D5+F5/q C5+D5/q F5/q | C3/h A2/h",
    "D4+A4/q Db4+D6/q A4+D5/q F5/q | D3/h A2/h",
    "D4+A4/q C5+E4/q A4+D5/q F5/q | C3/h A2/h",
)
"""D♭ against D two octaves higher, amid D and C natural: played as C♯ it costs two changes."""


def grave(part: HarpPart) -> list[FindingKind]:
    """Kinds of findings other than remarks in the best plan of a part."""
    plan = with_all_findings(part, plan_changes(part))
    return [one.kind for one in plan.findings if one.severity is not Severity.REMARK]


def check_promises(part: HarpPart) -> int:
    """Apply each mend to the part and plan it whole; return how many there are."""
    plan = mended(part)
    tried = 0
    for finding in plan.findings:
        for mend in finding.mends:
            tried += 1
            changed = altered(part, mend.edits)
            again = with_all_findings(changed, plan_changes(changed))
            unplayable = sum(one.severity is Severity.UNPLAYABLE for one in again.findings)

            assert unplayable <= mend.unplayable[1], mend.what
            assert again.cost <= mend.cost[1], mend.what
            assert not [
                one
                for one in again.findings
                if one.kind is finding.kind
                and one.place == finding.place
                and one.severity is finding.severity
            ], mend.what
    return tried


CLASH = "F3+F#5+E4+G4/w"
"""F and F♯ at once, and both neighbours taken: no string is left for one of them."""


def test_one_letter_in_two_positions_is_mended_by_leaving_one_out() -> None:
    """Drop one of two alterations of a letter, or respell it (Berlioz, "La Harpe")."""
    part = build_part("r/w", CLASH, "r/w")

    finding = only(mended(part), FindingKind.TWO_POSITIONS)

    assert finding.severity is Severity.UNPLAYABLE
    kinds = by_kind(finding)
    assert set(kinds) == {MendKind.MISPRINT, MendKind.THIN, MendKind.SECOND_HARP}
    assert kinds[MendKind.THIN].unplayable == (1, 0)
    assert kinds[MendKind.THIN].cost == (Fraction(100), Fraction(0))
    assert check_promises(part) == 3


def test_a_doubled_note_that_blocks_the_string_is_dropped_first() -> None:
    """F♯ in one octave, F♮ twice: what is doubled is missed least (common practice, no source)."""
    part = build_part("r/w", "A7+A6/w", "r/w")

    finding = only(mended(part), FindingKind.OUT_OF_RANGE)

    first = finding.mends[0]
    assert first.kind is MendKind.DOUBLING
    assert first.what == "Leave out A7 in bar 2, beat 1, where A6 sounds the same."
    assert check_promises(part) == len(finding.mends)


def test_a_note_outside_the_compass_moves_by_octaves() -> None:
    """A0 lies two strings below C1; an octave higher there is an A string."""
    part = build_part("A0/w")

    (finding,) = mended(part).findings

    assert by_kind(finding)[MendKind.OCTAVE].edits == (NoteEdit("b0s1n0h0", pitch("A1")),)


def test_a_string_without_pedal_is_mended_an_octave_higher() -> None:
    """C1 has no pedal; once tuned to C♮ it cannot give C♯ (common practice, Wikipedia)."""
    part = build_part("C1/w", "C#1/w", "r/w")

    finding = only(mended(part), FindingKind.NO_PEDAL)

    octave = by_kind(finding)[MendKind.OCTAVE]
    assert octave.what == "Write C♯1 in bar 2, beat 1 an octave higher, as C♯2."
    assert octave.unplayable == (1, 0)
    assert check_promises(part) == len(finding.mends)


def test_a_foot_without_time_is_helped_by_letting_the_change_move_earlier() -> None:
    """D♮ an eighth of a second before D♯, E♭ barred by E and F: without D♮ there is time."""
    part = build_part("D4/q A4/q B4/q r/q", "F4/e. D4/s D#4+E4+F4/q F4/h", tempo=120)

    finding = only(mended(part), FindingKind.FOOT_TOO_FAST)

    earlier = by_kind(finding)[MendKind.EARLIER]
    assert "so that D♯ can move before it" in earlier.what
    assert earlier.unplayable[1] < earlier.unplayable[0]
    assert check_promises(part) >= 1


def test_a_held_note_under_a_moving_pedal_ends_earlier() -> None:
    """F is tied over the barline and F♯ comes under it: without the tie the string is free."""
    part = build_part("F5/w~", "F5/w | r/h E3+G3+F#4/h", tempo=60)

    finding = only(mended(part), FindingKind.RINGING)

    assert MendKind.SHORTEN in by_kind(finding)
    assert check_promises(part) == len(finding.mends)


def test_a_repeated_note_is_offered_the_equal_pair() -> None:
    """C♭ and B♮ in turn (H. Berlioz, *Grand traité*, "La Harpe", prints this pair)."""
    part = build_part("Cb5/s Cb5/s Cb5/s Cb5/s r/h.", tempo=120)

    finding = only(mended(part), FindingKind.REPEATED_STRING)

    pair = by_kind(finding)[MendKind.RESPELL]
    assert pair.what.startswith("Write it on two strings in turn, C♭ and B, ")
    assert [str(edit.pitch) for edit in pair.edits] == ["B4", "B4"]
    assert "repeated" not in " ".join(
        one.what for one in mended(altered(part, pair.edits)).findings
    )


def test_a_repeated_note_without_a_pair_is_offered_none() -> None:
    """G♮ has one string only (computed): no respelling is offered, another harp may be."""
    part = build_part("G4/s G4/s G4/s G4/s r/h.", tempo=120)

    finding = only(mended(part), FindingKind.REPEATED_STRING)

    assert MendKind.RESPELL not in by_kind(finding)
    assert MendKind.SECOND_HARP in by_kind(finding)


def test_too_many_notes_lose_a_doubling() -> None:
    """Of nine notes, one that an octave doubles goes (Rimsky-Korsakov: four notes a hand)."""
    part = build_part("C4+D4+E4+G4+A4/w | C2+E2+G2+C3/w")

    finding = only(mended(part), FindingKind.HAND_FULL)

    first = finding.mends[0]
    assert first.kind is MendKind.DOUBLING
    assert not judge_playing(altered(part, first.edits), plan_changes(altered(part, first.edits)))


def test_a_wide_span_moves_its_outer_note_nearer() -> None:
    """An eleventh becomes a fourth (the tenth: common practice, no source)."""
    part = build_part("C5+D5+G5+A5/w | B1+E3/w")

    finding = only(mended(part), FindingKind.WIDE_SPAN)

    assert by_kind(finding)[MendKind.OCTAVE].what == (
        "Write B1 in bar 1, beat 1 an octave higher, as B2."
    )


def test_a_chromatic_run_is_shared_by_two_harps() -> None:
    """One harp keeps the naturals, another has the rest: no pedal moves in either."""
    run = "C4/s C#4/s D4/s D#4/s E4/s F4/s F#4/s G4/s G#4/s A4/s A#4/s B4/s C5/q"
    part = build_part("r/w", run, "r/w", tempo=120)

    finding = only(mended(part), FindingKind.CHROMATIC_RUN)

    shared = by_kind(finding)[MendKind.SECOND_HARP]
    assert shared.unplayable[0] > shared.unplayable[1] == 0
    assert grave(altered(part, shared.edits)) == []


def test_a_remark_on_spelling_is_mended_by_writing_what_is_played() -> None:
    """B♭♭ sounds on A♮ (computed): written so, the remark goes and the plan stays."""
    part = build_part("Bbb4/w")

    (finding,) = mended(part).findings

    assert finding.kind is FindingKind.DOUBLE_ALTERATION
    (mend,) = finding.mends
    assert mend.what == "Write B♭♭ as A, as it is played, in bar 1, beat 1."
    assert mended(altered(part, mend.edits)).findings == ()


def test_what_does_not_help_is_not_offered() -> None:
    """A finding without mends stays as it is; comfort alone is no reason to leave notes out."""
    part = build_part("F4/q F#4/q F4/q F#4/q", tempo=150)

    plan = mended(part)

    assert plan.findings
    for finding in plan.findings:
        for mend in finding.mends:
            assert finding.severity is not Severity.UNCOMFORTABLE or mend.kind not in (
                MendKind.THIN,
                MendKind.HOLD,
                MendKind.SECOND_HARP,
            )


def test_repeats_and_endings_keep_their_settings() -> None:
    """A mend inside a repeat is tried between the barlines where several ways meet."""
    part = build_part(
        "C4/w", CLASH, "C4/q D4/q E4/q F4/q", "C4/w", repeats={2: 2}, repeat_starts=(0,)
    )

    assert check_promises(part) == 3


@pytest.mark.parametrize(
    ("mend", "told"),
    [
        (
            Mend(MendKind.THIN, "x", (), 1, (3, 2), (Fraction(9), Fraction(17, 2))),
            "one impossible thing less",
        ),
        (
            Mend(MendKind.THIN, "x", (), 2, (3, 3), (Fraction(9), Fraction(8))),
            "two hard things less",
        ),
        (
            Mend(MendKind.RESPELL, "x", (), 0, (0, 0), (Fraction(9), Fraction(8))),
            "easier for the feet",
        ),
    ],
)
def test_what_a_mend_gains_is_told_in_words(mend: Mend, told: str) -> None:
    """Fewer impossible things, or fewer findings, or less work for the feet; no price."""
    assert effect_told(mend) == told


def test_an_edit_takes_its_ties_along() -> None:
    """What a note is tied to is rewritten or leaves with it; a tie to nothing is none."""
    part = build_part("C4/w~", "C4/w~", "C4/w")

    rewritten = [head for _, head in altered(part, [NoteEdit("b0s1n0h0", pitch("E4"))]).notes()]
    cut = [head for _, head in altered(part, [NoteEdit("b1s1n0h0", None)]).notes()]

    assert [str(head.pitch) for head in rewritten] == ["E4", "E4", "E4"]
    assert [(head.id, head.tie_start) for head in cut] == [("b0s1n0h0", False)]


def test_a_foot_that_waits_for_a_trill_is_helped_by_leaving_the_trill_out() -> None:
    """A♮ is trilled up to the stroke that wants A♭; the plain note leaves a whole half note."""
    part = build_part("r/w", "G4/htr Ab4+G4/h", "r/w")

    finding = only(mended(part), FindingKind.FOOT_TOO_FAST)

    plain = by_kind(finding)[MendKind.PLAIN]
    assert plain.what == "Play G4 in bar 2, beat 1 without its trill."
    assert plain.edits == (NoteEdit("b1s1n0h0", pitch("G4"), plain=True),)
    assert plain.unplayable == (1, 0)
    assert check_promises(part) == len(finding.mends)


def test_a_note_that_a_trill_silences_is_helped_by_leaving_the_trill_out() -> None:
    """A♭ under a trill of G and A, a beat after it has begun."""
    part = build_part("r/w", "G5/wtr | r/h Ab3/h", "r/w")

    finding = only(mended(part), FindingKind.NO_SETTING)

    assert finding.what == (
        "A♭ cannot sound during the trill on G5: no setting has a string for it."
    )
    assert by_kind(finding)[MendKind.PLAIN].what == "Play G5 in bar 2, beat 1 without its trill."
    assert check_promises(part) == len(finding.mends)


def test_a_tied_trill_goes_as_a_whole() -> None:
    """Its sign, its wavy line, and those of the notes that it is tied to; others keep theirs."""
    line = [SpannerEnd("wavy-line", 1, start) for start in (True, False)]
    events = list(build_part("G4/wtr~", "G4/htr A4/htr").events)
    events[0] = replace(events[0], spanners=(line[0],))
    events[1] = replace(events[1], spanners=(line[1], SpannerEnd("slur", 1, True)))
    part = replace(build_part("G4/wtr~", "G4/htr A4/htr"), events=tuple(events))

    first, second, third = altered(part, (NoteEdit("b0s1n0h0", pitch("G4"), plain=True),)).events

    assert (first.ornaments, first.spanners, second.ornaments) == ((), (), ())
    assert [end.kind for end in second.spanners] == ["slur"]
    assert third == part.events[2]


def test_a_tremolo_becomes_one_stroke() -> None:
    """A♭ after a tremolo of A: without the strokes there is time."""
    part = build_part("A4/h Ab4+G4/h", "r/w")
    events = (replace(part.events[0], tremolo=Tremolo("single", 3)), *part.events[1:])
    part = replace(part, events=events)

    finding = only(mended(part), FindingKind.FOOT_TOO_FAST)

    assert by_kind(finding)[MendKind.PLAIN].what == (
        "Play A4 in bar 1, beat 1 without its tremolo."
    )
    assert check_promises(part) == len(finding.mends)


def test_an_accidental_that_costs_several_changes_is_probably_a_misprint() -> None:
    """The other octave's spelling is the first suggestion, and the whole part then needs less."""
    part = build_part(*MISPRINTED, tempo=80)
    (finding,) = [one for one in mended(part).findings if one.mends]
    first = finding.mends[0]
    assert (first.kind, finding.severity) == (MendKind.MISPRINT, Severity.REMARK)
    assert first.what == "Write D4 for D♭4 in bar 2, beat 2, as in D6: probably a misprint."
    assert effect_told(first) == "fewer changes"
    right = plan_changes(altered(part, first.edits))
    assert (len(right.changes), right.respelled) == (0, ())
    assert len(plan_changes(part).changes) == 2
    assert right.cost <= first.cost[1]


def test_an_accidental_that_costs_a_note_is_probably_a_misprint() -> None:
    """F against F♯ in another octave, with no string left: first of all it may be a slip."""
    finding = only(mended(build_part("F3+F#5+E4+G4/w", "G4/w")), FindingKind.TWO_POSITIONS)
    assert finding.mends[0].what == (
        "Write F5 for F♯5 in bar 1, beat 1, as in F3: probably a misprint."
    )
    assert effect_told(finding.mends[0]) == "one impossible thing less"


@pytest.mark.parametrize("chord", ["F4+F#4/w", "F3+F#5/w"])
def test_two_alterations_that_cost_nothing_are_meant(chord: str) -> None:
    """A second of one letter, or a clash that another string solves at once, is no misprint."""
    plan = mended(build_part(chord, "G4/w", tempo=80))
    assert not [mend for one in plan.findings for mend in one.mends if mend.kind.name == "MISPRINT"]
