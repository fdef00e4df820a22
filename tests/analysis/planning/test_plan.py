"""When the pedals move, how much time the feet have, and what the plan says about it."""

from __future__ import annotations

import gc
import math
from dataclasses import replace
from fractions import Fraction

import pytest
from part_builder import build_part
from replay import replay

from pedalsetter.analysis.instrument.harp import Foot, Letter, Position, Setting
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import Jump, JumpKind, KeyChange, Place, Tempo
from pedalsetter.analysis.pedal_plan import FindingKind, Severity
from pedalsetter.analysis.planning import plan_as_written, plan_changes
from pedalsetter.analysis.playing.clock import Clock


def test_the_opening_anticipates_each_letters_first_need() -> None:
    """F♯ in bar 3 is set from the beginning if no F♮ comes before it."""
    plan = plan_changes(build_part("C4/w", "D4/w", "F#4/w"))
    assert plan.movements[0].opening[Letter.F] is Position.SHARP
    assert plan.changes == ()


def test_a_change_lies_between_the_two_needs_and_off_the_second() -> None:
    """Near the need but rather before it than on it, and on a beat (common practice)."""
    plan = plan_changes(build_part("C4/q E4/q F4/q E4/q", "E4/q G4/q F#4/q E4/q"))
    (change,) = plan.changes
    assert change.text == "F♯"
    assert change.place in (Place(0, Fraction(3)), Place(1, Fraction(0)), Place(1, Fraction(1)))
    assert change.needed == Place(1, Fraction(2))
    assert change.free_since == Place(0, Fraction(2))
    assert change.seconds_free == 2
    assert change.seconds_since_same_foot is None
    assert change.why == (
        "F♯ is needed in bar 2, beat 3 by F♯4; F♮ was last needed in bar 1, beat 3 (F4), "
        "2.00 s before the pedal moves; the right foot has not moved before."
    )


def test_four_changes_of_one_foot_are_spread() -> None:
    """E F G A all move between two chords: four places, half a second apart or more."""
    plan = plan_changes(build_part("E4+F4+G4+A4/q r/h.", "Eb4+Gb4+Ab4+F#4/w"))
    places = [change.place for change in plan.changes]
    assert len(set(places)) == len(places) == 4
    assert plan.findings == ()


def test_two_changes_of_one_foot_in_one_beat_share_it() -> None:
    """With nothing but one gap they are told one after the other inside it."""
    plan = plan_changes(build_part("B3+C4+D4/q C#4+D#4+E4+F4/q r/h", tempo=30))
    assert [change.place.offset for change in plan.changes] == [Fraction(1, 2), Fraction(1)]
    # The first of them moves while its own string is still written to sound.
    assert [finding.kind for finding in plan.findings] == [FindingKind.RINGING]


@pytest.mark.parametrize(
    ("tempo", "kind"),
    [
        (120, None),
        (180, FindingKind.FOOT_HURRIED),
        (240, FindingKind.FOOT_HURRIED),
        (280, FindingKind.FOOT_TOO_FAST),
    ],
)
def test_half_a_second_is_comfortable_and_a_quarter_the_least(
    tempo: int, kind: FindingKind | None
) -> None:
    """Rule of thumb for one foot, one pedal, one notch (common practice, no source)."""
    plan = plan_changes(build_part("E4+F4/q F#4+G4/q G4/h", tempo=tempo))
    assert [finding.kind for finding in plan.findings] == ([kind] if kind else [])


def test_two_notches_want_half_as_much_again() -> None:
    """Flat to sharp passes natural: 0.75 s is comfortable, 0.6 s is hurried.

    Source: mechanism, Encyclopaedia Britannica, "Pedal harp"; the factor is common practice.
    """
    assert plan_changes(build_part("Fb4/q F#4/q r/h", tempo=80)).findings == ()
    (finding,) = plan_changes(build_part("Fb4/q F#4/q r/h", tempo=100)).findings
    assert finding.kind is FindingKind.FOOT_HURRIED
    assert finding.what == "F♯ is hurried: F♭4 is played only 0.60 s before."


def test_a_foot_that_is_too_slow_is_named() -> None:
    """The finding says which foot, which notes and how long it has."""
    plan = plan_changes(build_part("B3+C4+D4/e C#4+D#4+E4+F4/e r/h.", tempo=120))
    told = [finding.what for finding in plan.findings]
    assert any("left foot" in what and "0.12 s" in what for what in told)
    assert all(finding.mend for finding in plan.findings)
    assert Severity.UNPLAYABLE in {finding.severity for finding in plan.findings}


def test_a_tempo_is_assumed_and_said() -> None:
    """Without a tempo mark 72 quarters a minute are taken (common practice)."""
    plan = plan_changes(build_part("F4/q F#4/q r/h", tempo=None))
    assert plan.tempo_assumed
    assert plan.changes[0].seconds_free == Fraction(833333, 1000000)
    assert not plan_changes(build_part("F4/w")).tempo_assumed


def test_a_gradual_change_of_tempo_counts() -> None:
    """From 60 to 120 over a bar of four: the last beat is shorter than the first."""
    slow = Tempo(Fraction(0), Fraction(60), towards=Fraction(120))
    fast = Tempo(Fraction(4), Fraction(120))
    part = replace(build_part("F4/q F#4/q F4/q F#4/q", "r/w"), tempi=(slow, fast))
    seconds = [change.seconds_free for change in plan_changes(part).changes]
    assert all(one is not None for one in seconds)
    assert seconds[0] > seconds[1] > seconds[2] > Fraction(1, 2)  # type: ignore[operator]


def test_the_clock_integrates_a_gradual_change() -> None:
    """Four quarters from 60 to 120 take 4 ln 2 = 2.7726 s (the integral of 1/v)."""
    slow = Tempo(Fraction(0), Fraction(60), towards=Fraction(120))
    part = replace(build_part("r/w", "r/w"), tempi=(slow, Tempo(Fraction(4), Fraction(120))))
    clock = Clock(part)
    assert abs(float(clock.seconds(Fraction(4))) - 4 * math.log(2)) < 0.0001
    assert clock.seconds(Fraction(8)) - clock.seconds(Fraction(4)) == 2
    assert 0 < clock.seconds(Fraction(2)) < clock.seconds(Fraction(4))


def test_a_repeat_finds_the_setting_it_expects() -> None:
    """Marks are printed once and played on every pass: F♮ is set again before the turn."""
    plan = plan_changes(build_part("F4/w", "F#4/q r/h.", repeats={1: 2}))
    assert plan.movements[0].opening[Letter.F] is Position.NATURAL
    back = plan.changes[-1]
    assert (back.text, back.needed) == ("F♮", None)
    assert back.place.bar == 1
    assert back.why.startswith("F♮ is set again for what is played after the barline")


def test_a_change_after_the_last_note() -> None:
    """F♯ ends the last bar: F♮ is set in what is left of it, not on the first note of each pass."""
    part = build_part("E4+F4/q r/h.", "r/h. F#4+G4/e r/e", "F4/w", repeats={1: 2}, tempo=40)
    plan = plan_changes(part)
    assert plan.movements[0].opening == Setting.of_key(0)
    sharp, back = plan.changes
    assert (sharp.text, back.text) == ("F♯", "F♮")
    assert Place(1, Fraction(3)) < back.place < Place(2, Fraction(0))
    assert replay(part, plan, place_marks(part, plan)) == []


def test_a_second_ending_is_entered_from_the_body() -> None:
    """What the first ending does to the pedals is not yet done when the second begins."""
    part = build_part(
        "E4+F4/w",
        "F#4+G4/h r/h",
        "F#4+G4/w",
        repeat_starts=(0,),
        repeats={1: 2},
        endings={1: (1,), 2: (2,)},
    )
    plan = plan_changes(part)
    assert plan.setting_at(Place(2, Fraction(0)))[Letter.F] is Position.SHARP
    first_ending = [change.text for change in plan.changes if change.place.bar == 1]
    assert first_ending[-1] == "F♮"
    assert replay(part, plan, place_marks(part, plan)) == []


def test_the_time_across_a_turn_is_the_shortest_pass() -> None:
    """The foot that moved late in the last bar moves early in the first: a finding."""
    part = build_part("r/h Ab4/q A4/q", "Eb4/q E4/q r/q A4/q", repeats={1: 2}, tempo=220)
    plan = plan_changes(part)
    gaps = [change.seconds_since_same_foot for change in plan.changes]
    assert all(gap is None or gap >= 0 for gap in gaps)


def test_a_da_capo_is_a_way_in_too() -> None:
    """The end of the middle part gives the beginning back its setting."""
    jumps = (Jump(JumpKind.FINE, 0), Jump(JumpKind.DA_CAPO, 2, al_fine=True))
    plan = plan_changes(build_part("F4/w", "F#4/w", "G4/w", jumps=jumps))
    assert [change.text for change in plan.changes] == ["F♯", "F♮"]
    assert plan.changes[-1].place.bar in (1, 2)


def test_each_movement_begins_afresh() -> None:
    """A movement has its own opening, set during the break."""
    part = build_part(
        "F4/w",
        "F#4/w",
        movements=(1,),
        keys=(KeyChange(Fraction(4), 1, 1),),
    )
    plan = plan_changes(part)
    assert [movement.opening for movement in plan.movements] == [
        Setting.of_key(0),
        Setting.of_key(1),
    ]
    assert plan.changes == ()


def test_nothing_to_play_is_a_plan_too() -> None:
    """A part of rests stands in its key."""
    plan = plan_changes(build_part("r/w", "r/w", key=-3))
    assert plan.movements[0].opening == Setting.of_key(-3)
    assert plan.changes == plan.findings == ()


def test_feet_keep_to_their_sides() -> None:
    """D C B are the left foot's, E F G A the right's.

    Source: LilyPond Notation Reference, "Harp pedals".
    """
    plan = plan_changes(build_part("C4+E4/h r/h", "C#4+Eb4/w"))
    assert {(change.letter.value, change.foot) for change in plan.changes} == {
        ("C", Foot.LEFT),
        ("E", Foot.RIGHT),
    }


def test_a_tremolo_takes_strings_that_silence_no_other_note() -> None:
    """C and C♯ trembling could take B♯ and C♯, but then B♮ would be lost; so they take D♭."""
    plan = plan_changes(build_part("C#3/eg C3+C#3/wtrem< | r/h B3/h"))
    assert all(use.sounding is not None for use in plan.strings.values())
    assert [str(use.written) for use in plan.respelled] == ["C♯3", "C♯3"]


def test_the_neighbour_of_a_trill_needs_a_string_too() -> None:
    """The trill of the highest string, G7, would need an A7 that the harp has not (I2)."""
    (finding,) = plan_changes(build_part("G#7/wtr", key=4)).findings
    assert finding.kind is FindingKind.OUT_OF_RANGE
    assert finding.what == "A7 lies outside the compass of the harp."


def test_a_mark_stands_before_grace_notes_rather_than_after_them() -> None:
    """The foot moves on the beat to which they lead, not in the tenth of a second before it."""
    plan = plan_changes(build_part("F4/q F4/q D4/eg E4/eg F#4/h", tempo=40))
    assert [(change.text, change.place) for change in plan.changes] == [
        ("F♯", Place(0, Fraction(2), grace=-2))
    ]


def test_notes_are_respelled_before_one_is_left_out_for_want_of_time() -> None:
    """Between a grace note and the next a foot moves once: F♮ and A♮ cannot both be set there.

    As written a note would have no string; played as B♭ and E♯ all sound.
    """
    part = build_part("C4/q F#4+A#4/eg F4+A4/eg C4/q r/h")
    assert any(use.sounding is None for use in plan_as_written(part).strings.values())
    plan = plan_changes(part)
    assert all(use.sounding is not None for use in plan.strings.values())
    assert {str(use.written) for use in plan.respelled} == {"A♯4", "F4"}
    assert plan.proved_optimal


def test_the_collector_is_as_it_was() -> None:
    """Python's own housekeeping rests only while a plan is made, also one that fails."""
    part = build_part("C4/w")
    assert gc.isenabled()
    plan_changes(part)
    assert gc.isenabled()
    with pytest.raises(AttributeError):
        plan_changes(replace(part, events=(None,)))  # type: ignore[arg-type]
    assert gc.isenabled()
    gc.disable()
    try:
        plan_changes(part)
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_halves_of_a_tremolo_follow_each_other() -> None:
    """Two notes with a rest between them do not alternate, whatever a file says: C may move."""
    plan = plan_changes(build_part("C4/qtrem< r/q C#4/qtrem> r/q"))
    assert all(use.sounding is not None for use in plan.strings.values())
    assert [change.text for change in plan.changes] == ["C♯"]
