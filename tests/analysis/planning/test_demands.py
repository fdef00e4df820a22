"""What the music asks of the pedals, and which string each note gets."""

from __future__ import annotations

from fractions import Fraction

from part_builder import build_part, edit, pitch

from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.part import Ornament, Place, SourceMark
from pedalsetter.analysis.pedal_plan import FindingKind, PedalPlan, Severity
from pedalsetter.analysis.planning import plan_changes


def played(plan: PedalPlan) -> list[str | None]:
    """For each note the string's letter and sign, or None, in order."""
    return [use.sounding.name if use.sounding else None for use in plan.strings.values()]


def moves(plan: PedalPlan) -> list[tuple[str, int, Fraction]]:
    """Each change as text, bar and offset."""
    return [(change.text, change.place.bar, change.place.offset) for change in plan.changes]


def test_every_note_is_played_on_its_written_string() -> None:
    """E♯, B♯, F♭ and C♭ are ordinary positions and are not simplified (common practice)."""
    plan = plan_changes(build_part("E#4/q B#4/q Fb5/q Cb5/q"))
    assert played(plan) == ["E♯", "B♯", "F♭", "C♭"]
    assert plan.changes == ()


def test_a_tied_note_is_struck_once_and_keeps_its_string() -> None:
    """The pedal waits for the end of the tie, though nothing is struck there."""
    plan = plan_changes(build_part("F4/h~ F4/h", "E4/h r/q F#4/q"))
    assert len(plan.strings) == 3
    ((text, bar, offset),) = moves(plan)
    assert (text, bar) == ("F♯", 1)
    assert offset <= 3
    assert plan.findings == ()


def test_a_pedal_forced_to_move_under_a_tie_is_told() -> None:
    """F♯ is struck while F♮ is tied on: the plan comes out, with a finding."""
    plan = plan_changes(build_part("E3+F3/w~ | r/w", "E3+F3/w | r/h F#5+G5/h"))
    assert played(plan) == ["E♮", "F♮", "F♯", "G♮"]
    assert [(finding.kind, finding.severity) for finding in plan.findings] == [
        (FindingKind.RINGING, Severity.RISKY)
    ]
    assert plan.findings[0].what == (
        "F♯ moves under F3, which is written to sound on: the string slides or buzzes."
    )


def test_a_note_is_respelled_rather_than_slid_under_a_tie() -> None:
    """With the G strings free, F♯ is played as G♭ while F♮ sounds on."""
    plan = plan_changes(build_part("F3/w~ | r/w", "F3/w | r/h F#5/h"))
    assert played(plan) == ["F♮", "G♭"]
    (finding,) = plan.findings
    assert finding.severity is Severity.REMARK
    assert finding.what == (
        "Play F♯ as G♭: the written letters would move a pedal under a note that is written to "
        "sound on."
    )


def test_a_written_unison_of_two_spellings_uses_two_strings() -> None:
    """C♯ with D♭ is legal and is not simplified."""
    assert played(plan_changes(build_part("C#4+Db4/w"))) == ["C♯", "D♭"]


def test_cue_notes_and_invisible_notes_ask_nothing() -> None:
    """They are shown or keep time, and are never played."""
    part = build_part("C4/h C#4/hc")
    plan = plan_changes(part)
    assert list(plan.strings) == ["b0s1n0h0"]
    hidden = edit(build_part("C4/h C#4/h"), 1, visible=False)
    assert list(plan_changes(hidden).strings) == ["b0s1n0h0"]


def test_a_trill_keeps_its_upper_note_for_its_whole_length() -> None:
    """G trilled in C major takes A♮, and no other string sounds either; A♭ meanwhile is lost."""
    plan = plan_changes(build_part("G5/wtr | r/h Ab3/h"))
    assert plan.movements[0].opening[Letter.A] is Position.NATURAL
    assert plan.changes == ()
    assert played(plan) == ["G♮", None]
    assert plan.findings[0].severity is Severity.UNPLAYABLE


def test_an_accidental_at_the_ornament_counts() -> None:
    """A trill on E with a natural above it takes F♮ in G major."""
    part = edit(build_part("E5/wtr", key=1), 0, ornaments=(Ornament("trill-mark", above=0),))
    assert plan_changes(part).movements[0].opening[Letter.F] is Position.NATURAL


def test_a_mordent_takes_the_note_below_and_a_turn_both() -> None:
    """The mordent's neighbour is the lower one, a turn has both; each in the key."""
    mordent = edit(build_part("G4/w", key=4), 0, ornaments=(Ornament("mordent", below=0),))
    assert plan_changes(mordent).movements[0].opening[Letter.F] is Position.NATURAL
    turn = edit(build_part("G4/w", key=4), 0, ornaments=(Ornament("turn", below=0, above=-1),))
    opening = plan_changes(turn).movements[0].opening
    assert (opening[Letter.F], opening[Letter.A]) == (Position.NATURAL, Position.FLAT)


def test_both_notes_of_a_tremolo_last_to_its_end() -> None:
    """A♮ in the second half is needed from the first, and A♭ cannot be struck meanwhile."""
    plan = plan_changes(build_part("G4/htrem< A4/htrem> | r/q Ab3/q r/h"))
    assert plan.movements[0].opening[Letter.A] is Position.NATURAL
    assert played(plan)[0] == "G♮"
    assert None in played(plan)
    assert plan.changes == ()


def test_grace_notes_are_struck_before_their_main_note() -> None:
    """Two grace notes on F♯ and F♮ can only be told apart between them, and too fast to play."""
    plan = plan_changes(build_part("C4/h F#4+G4/eg E4+F4/eg E4/h"))
    ((change),) = plan.changes
    assert (change.text, change.place) == ("F♮", Place(0, Fraction(2), -1))
    assert [finding.kind for finding in plan.findings] == [FindingKind.FOOT_TOO_FAST]


def test_a_grace_note_is_respelled_rather_than_rushed() -> None:
    """Alone, the F♯ is played as G♭, and no pedal has to move between the grace notes."""
    plan = plan_changes(build_part("C4/h F#4/eg F4/eg E4/h"))
    assert plan.changes == ()
    assert len(plan.respelled) == 1


def test_a_change_for_a_grace_note_comes_before_it() -> None:
    """With a beat of rest before it there is time."""
    plan = plan_changes(build_part("F4/q r/q F#4/eg G4/h"))
    assert moves(plan) == [("F♯", 0, Fraction(1))]
    assert plan.findings == ()


def test_a_harmonic_is_played_on_the_written_string() -> None:
    """A harmonic sounds an octave higher than its string, which is the written one."""
    part = edit(build_part("F#4/w"), 0, harmonic=True)
    (use,) = plan_changes(part).strings.values()
    assert use.sounding is not None
    assert str(use.sounding.string) == "F4"
    part = edit(build_part("F#5/w"), 0, harmonic=True, harmonic_printed_at_sound=True)
    (use,) = plan_changes(part).strings.values()
    assert use.sounding is not None
    assert str(use.sounding.string) == "F4"


def test_no_pedal_moves_during_a_glissando() -> None:
    """Changes are made before it begins or after it ends (common practice)."""
    part = build_part("C4/hgl< C6/hgl>", "C#4/w | Ab3/w", key=-1)
    plan = plan_changes(part)
    assert plan.movements[0].opening.pattern == "nnb|nnnn"
    assert {text for text, bar, _ in moves(plan)} == {"C♯", "A♭"}
    assert all((bar, offset) > (0, 2) for _, bar, offset in moves(plan))


def test_a_glissando_follows_the_sources_diagram() -> None:
    """A full diagram printed at the start of the line is the setting that it sounds."""
    whole_tone = (("D", 0), ("C", 0), ("B", 1), ("E", 0), ("F", 1), ("G", 1), ("A", 1))
    mark = SourceMark("m", 0, Fraction(0), 1, "diagram", whole_tone)
    part = build_part("C4/hgl< C6/hgl>", source_marks=(mark,))
    assert plan_changes(part).movements[0].opening.pattern == "nns|nsss"


def test_the_sources_diagram_may_stand_earlier_in_the_bar() -> None:
    """Scores often print a glissando's setting at the barline, a note or rest before the line."""
    whole_tone = (("D", 0), ("C", 0), ("B", 1), ("E", 0), ("F", 1), ("G", 1), ("A", 1))
    mark = SourceMark("m", 0, Fraction(0), 1, "diagram", whole_tone)
    later = SourceMark("l", 0, Fraction(3), 1, "diagram", tuple((name, 0) for name in "DCBEFGA"))
    part = build_part("r/q C4/qgl< C6/qgl> r/q", source_marks=(later, mark))

    assert plan_changes(part).movements[0].opening.pattern == "nns|nsss"


def test_a_glissando_keeps_an_accidental_of_its_bar() -> None:
    """An F♯ written earlier in the bar is still in force when the line passes F."""
    part = build_part("F#4/q C4/qgl< C6/qgl> r/q")
    plan = plan_changes(part)
    assert plan.movements[0].opening[Letter.F] is Position.SHARP
    assert plan.changes == ()


def test_a_note_without_a_string_is_told() -> None:
    """The compass ends at C1 and G7.

    Source: C.-M. Widor, *Initiation musicale*, p. 45.
    """
    plan = plan_changes(build_part("A7/h B0/h"))
    assert played(plan) == [None, "C♭"]
    assert plan.findings[0].kind in (FindingKind.OUT_OF_RANGE, FindingKind.NO_PEDAL)
    told = [finding.what for finding in plan.findings]
    assert "A7 lies outside the compass of the harp." in told


def test_the_two_lowest_strings_are_tuned_once() -> None:
    """C1 and D1 have no pedal, so a second alteration cannot sound (common practice)."""
    plan = plan_changes(build_part("C#1/q C#4/q C4/q C1/q"))
    assert played(plan) == ["C♯", "C♯", "C♮", None]
    assert [(finding.kind, finding.severity) for finding in plan.findings] == [
        (FindingKind.NO_PEDAL, Severity.REMARK),
        (FindingKind.NO_PEDAL, Severity.UNPLAYABLE),
    ]
    assert plan.findings[1].what == (
        "C1 cannot sound: the lowest C string has no pedal and is already tuned to C♯ in this "
        "movement."
    )


def test_two_positions_at_once_are_respelled_or_told() -> None:
    """F with F♯: one is moved to E♯ or G♭ and the player is told so."""
    plan = plan_changes(build_part("F4+F#5/w"))
    assert None not in played(plan)
    assert len(plan.respelled) == 1
    (finding,) = plan.findings
    assert (finding.kind, finding.severity) == (FindingKind.TWO_POSITIONS, Severity.REMARK)
    assert finding.what.startswith("Play F")


def test_the_fewest_notes_are_left_out() -> None:
    """G♭, G♮ and G♯ with F and A: the writer learns which note cannot sound, and why."""
    plan = plan_changes(build_part("F3+A3+G4+G#4+A#4/w"))
    assert played(plan).count(None) == 1
    (finding,) = [one for one in plan.findings if one.severity is Severity.UNPLAYABLE]
    assert finding.kind is FindingKind.TWO_POSITIONS
    assert finding.place == Place(0, Fraction(0))
    assert len(finding.notes) == 1
    assert finding.mend


def test_the_octave_of_a_respelled_string_is_right() -> None:
    """C♭5 and B4 are one pitch on two strings."""
    plan = plan_changes(build_part("C4+Cb5/w"))
    sounding = [use.sounding for use in plan.strings.values()]
    assert [str(one.string) + one.position.sign for one in sounding if one] in (
        ["C4♮", "B4♮"],
        ["B3♯", "C5♭"],
    )
    assert pitch("Cb5").midi == pitch("B4").midi
