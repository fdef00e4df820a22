"""Letters, positions, settings, feet and strings."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.instrument.harp import (
    LETTERS,
    NATURAL_PITCH_CLASS,
    STRINGS,
    Foot,
    Harp,
    Letter,
    Position,
    Setting,
    String,
)

A_SETTING = st.lists(st.sampled_from(Position), min_size=7, max_size=7).map(
    lambda positions: Setting(tuple(positions))
)


def test_letters_stand_in_pedal_order() -> None:
    """From left to right as the player sits: D C B, E F G A."""
    assert "".join(letter.value for letter in LETTERS) == "DCBEFGA"
    assert [letter.index for letter in LETTERS] == [0, 1, 2, 3, 4, 5, 6]


def test_three_pedals_are_left_and_four_right() -> None:
    """The left foot works D C B, the right foot E F G A."""
    left = [letter.value for letter in LETTERS if letter.foot is Foot.LEFT]
    right = [letter.value for letter in LETTERS if letter.foot is Foot.RIGHT]

    assert (left, right) == (["D", "C", "B"], ["E", "F", "G", "A"])


def test_a_position_is_its_alteration_in_semitones() -> None:
    """Up is flat, the middle natural, down sharp; flat to sharp is two notches."""
    assert [(int(position), position.sign) for position in Position] == [
        (-1, "♭"),
        (0, "♮"),
        (1, "♯"),
    ]
    assert Position.FLAT.notches_to(Position.SHARP) == 2
    assert Position.SHARP.notches_to(Position.NATURAL) == 1
    assert Position.NATURAL.notches_to(Position.NATURAL) == 0


def test_every_setting_is_listed_once_in_order() -> None:
    """3⁷ = 2,187 settings, from all flat to all sharp, each the next in the order of its signs."""
    every = list(Setting.every())

    assert len(every) == 2187
    assert len(set(every)) == 2187
    assert [setting.positions for setting in every] == sorted(
        setting.positions for setting in every
    )
    assert (every[0].pattern, every[-1].pattern) == ("bbb|bbbb", "sss|ssss")


def test_all_settings_are_read_back_from_their_three_forms() -> None:
    """What is printed with signs, in plain letters or as a pattern is read as the same setting."""
    for setting in Setting.every():
        assert Setting.parse(str(setting)) == setting
        assert Setting.parse(setting.ascii) == setting
        assert Setting.parse_pattern(setting.pattern) == setting
        assert Setting.parse_pattern(setting.pattern.replace("|", "")) == setting


def test_the_printed_forms_of_one_setting() -> None:
    """Signs for print, plain letters for a terminal, the pattern for tests and files."""
    setting = Setting.parse_pattern("nsb|nsnb")

    assert str(setting) == "D♮ C♯ B♭ | E♮ F♯ G♮ A♭"
    assert setting.ascii == "D C# Bb | E F# G Ab"
    assert setting.pattern == "nsb|nsnb"


@given(A_SETTING, st.randoms(use_true_random=False), st.booleans())
@settings(max_examples=60, deadline=None)
def test_a_setting_is_read_in_any_order_of_letters(
    setting: Setting, source: random.Random, lower: bool
) -> None:
    """Letters may come in any order and in small print, with commas, bars or spaces between."""
    words = setting.ascii.replace("|", " ").split()
    source.shuffle(words)
    text = ", ".join(word.lower() if lower else word for word in words)

    assert Setting.parse(text) == setting
    assert Setting.parse(" | ".join(words)) == setting


@pytest.mark.parametrize(
    "text",
    [
        "D♮ C♯ B♭ | E♮ F♯ G♮ A♭",
        "Dn C# Bb En F# Gn Ab",
        "d cs bb e fs g ab",
        "  D C♯ B♭|E F♯ G A♭ ",
    ],
)
def test_signs_are_read_in_their_usual_spellings(text: str) -> None:
    """♭ or b, ♮ or n or nothing, ♯ or # or s."""
    assert Setting.parse(text).pattern == "nsb|nsnb"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            "D C H E F G A",
            "'H' is no pedal position. Write a letter and its sign, as in C♯, Bb or F.",
        ),
        (
            "D C## B E F G A",
            "'C##' is no pedal position. Write a letter and its sign, as in C♯, Bb or F.",
        ),
        (
            "D C B E F G A C#",
            "the C pedal stands twice in 'D C B E F G A C#'. Name each of the seven pedals once.",
        ),
        (
            " D C B | E F G ",
            "a setting names all seven pedals, A missing in 'D C B | E F G'. "
            "Give D C B | E F G A, each with its sign.",
        ),
        (
            "F# C#",
            "a setting names all seven pedals, D, B, E, G, A missing in 'F# C#'. "
            "Give D C B | E F G A, each with its sign.",
        ),
        (
            "",
            "a setting names all seven pedals, D, C, B, E, F, G, A missing in ''. "
            "Give D C B | E F G A, each with its sign.",
        ),
    ],
)
def test_a_text_that_is_no_setting_is_told_with_its_mend(text: str, line: str) -> None:
    """All seven pedals, each once, or one line that says what is wrong."""
    with pytest.raises(SettingError) as caught:
        Setting.parse(text)

    assert str(caught.value) == line


@pytest.mark.parametrize("pattern", ["nnn|nnn", "nnnnnnnn", "nnn|nnxn", ""])
def test_a_pattern_has_seven_signs(pattern: str) -> None:
    """Seven of b, n and s, no more, no fewer, nothing else."""
    with pytest.raises(SettingError) as caught:
        Setting.parse_pattern(pattern)

    assert str(caught.value) == f"'{pattern}' is not seven of b, n and s in the order D C B E F G A"


def test_a_setting_is_made_of_seven_positions() -> None:
    """A value that is not seven positions is refused when it is made."""
    with pytest.raises(SettingError) as few:
        Setting((Position.FLAT,) * 6)
    with pytest.raises(SettingError) as numbers:
        Setting((0, 0, 0, 0, 0, 0, 2))  # type: ignore[arg-type]

    assert str(few.value) == (
        "a setting names all seven pedals, 6 were given. Give D C B | E F G A, each with its sign."
    )
    assert str(numbers.value) == "a pedal stands at flat, natural or sharp"


@pytest.mark.parametrize("fifths", [-8, 8])
def test_a_key_signature_has_at_most_seven_signs(fifths: int) -> None:
    """There is no eighth sharp or flat."""
    with pytest.raises(SettingError) as caught:
        Setting.of_key(fifths)

    assert str(caught.value) == "a key signature has at most seven signs, not 8"


def test_moving_one_pedal_changes_one_letter() -> None:
    """One pedal moves all strings of its letter and no other."""
    natural = Setting.of_key(0)
    moved = natural.moved(Letter.F, Position.SHARP)

    assert moved.pattern == "nnn|nsnn"
    assert natural.pattern == "nnn|nnnn"
    assert natural.letters_unlike(moved) == (Letter.F,)
    assert moved[Letter.F] is Position.SHARP


@given(A_SETTING, A_SETTING, A_SETTING)
@settings(max_examples=60, deadline=None)
def test_the_way_between_settings_is_a_distance(one: Setting, two: Setting, third: Setting) -> None:
    """There and back costs the same, staying costs nothing, a detour is never shorter."""
    for cost in (Setting.notches_to, Setting.rounds_to):
        assert cost(one, two) == cost(two, one)
        assert (cost(one, two) == 0) == (one == two)
        assert cost(one, third) <= cost(one, two) + cost(two, third)
    assert one.rounds_to(two) <= len(one.letters_unlike(two)) <= one.notches_to(two) <= 14


@given(A_SETTING)
@settings(max_examples=60, deadline=None)
def test_a_setting_sounds_what_its_letters_sound(setting: Setting) -> None:
    """Seven letters, four to seven pitch classes."""
    assert {letter for letter, _ in setting} == set(LETTERS)
    assert setting.pitch_classes() == {setting.pitch_class(letter) for letter in LETTERS}
    assert 4 <= len(setting.pitch_classes()) <= 7


def test_strings_rise_by_step_and_by_pitch() -> None:
    """Neighbouring strings differ by one step, and at natural each sounds higher than the last."""
    steps = [string.step for string in STRINGS]
    keys = [string.midi(Position.NATURAL) for string in STRINGS]

    assert steps == list(range(steps[0], steps[0] + 47))
    assert keys == sorted(set(keys))
    assert all(
        key % 12 == NATURAL_PITCH_CLASS[s.letter] for key, s in zip(keys, STRINGS, strict=True)
    )


def test_middle_c_is_c4() -> None:
    """C4 is MIDI key 60, and its string sounds 59, 60 and 61."""
    string = String(Letter.C, 4)

    assert [string.midi(position) for position in Position] == [59, 60, 61]
    assert str(string) == "C4"


def test_what_the_full_harp_has() -> None:
    """C1 to G7 and nothing beyond; C1 and D1 have no pedal."""
    harp = Harp()

    assert all(harp.has(string) for string in STRINGS)
    assert not harp.has(String(Letter.B, 0))
    assert not harp.has(String(Letter.A, 7))
    assert [str(string) for string in STRINGS if not harp.works_by_pedal(string)] == ["C1", "D1"]


def test_the_top_string_may_lack_its_disc() -> None:
    """Sources disagree on the top G, so it is a switch of the instrument."""
    harp = Harp(top_string_has_pedal=False)

    assert not harp.works_by_pedal(String(Letter.G, 7))
    assert harp.works_by_pedal(String(Letter.F, 7))


def test_other_compasses_are_values() -> None:
    """A harp of 46 strings ends at F7, one of 48 at A7."""
    small = Harp(highest=String(Letter.F, 7))
    large = Harp(highest=String(Letter.A, 7))

    assert [str(string) for string in STRINGS if not small.has(string)] == ["G7"]
    assert large.has(String(Letter.A, 7))
