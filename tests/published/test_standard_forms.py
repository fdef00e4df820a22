"""One setting in the forms of open standards: SMuFL, MusicXML and LilyPond's language."""

from __future__ import annotations

import pytest

from pedalsetter.analysis.instrument.harp import Letter, Position, Setting

SMUFL = {"b": 0xE680, "n": 0xE681, "s": 0xE682, "|": 0xE683}
"""harpPedalRaised, harpPedalCentered, harpPedalLowered, harpPedalDivider (SMuFL metadata)."""

LILYPOND = {"b": "^", "n": "-", "s": "v", "|": "|"}
"""The signs of ``\\harp-pedal`` (LilyPond Notation Reference, "Harp pedals")."""


@pytest.mark.parametrize(
    ("pattern", "lilypond", "smufl", "alters"),
    [
        (
            "bbb|bbbb",
            "^^^|^^^^",
            "E680 E680 E680 E683 E680 E680 E680 E680",
            (-1, -1, -1, -1, -1, -1, -1),
        ),
        (
            "nnn|nnnn",
            "---|----",
            "E681 E681 E681 E683 E681 E681 E681 E681",
            (0, 0, 0, 0, 0, 0, 0),
        ),
        (
            "sss|ssss",
            "vvv|vvvv",
            "E682 E682 E682 E683 E682 E682 E682 E682",
            (1, 1, 1, 1, 1, 1, 1),
        ),
        (
            "bsn|ssnb",
            "^v-|vv-^",
            "E680 E682 E681 E683 E682 E682 E681 E680",
            (-1, 1, 0, 1, 1, 0, -1),
        ),
        (
            "sns|bsbn",
            "v-v|^v^-",
            "E682 E681 E682 E683 E680 E682 E680 E681",
            (1, 0, 1, -1, 1, -1, 0),
        ),
    ],
)
def test_one_setting_in_the_forms_of_open_standards(
    pattern: str, lilypond: str, smufl: str, alters: tuple[int, ...]
) -> None:
    """SMuFL's eight characters, LilyPond's string and MusicXML's pedal-alter, in pedal order.

    SMuFL code points: W3C metadata, range "Harp techniques"; pedal-alter −1, 0, 1: MusicXML
    reference, pedal-tuning.
    """
    setting = Setting.parse_pattern(pattern)

    assert "".join(LILYPOND[sign] for sign in setting.pattern) == lilypond
    assert " ".join(f"{SMUFL[sign]:X}" for sign in setting.pattern) == smufl
    assert tuple(int(where) for _, where in setting) == alters


def test_the_manual_example_of_the_engraver() -> None:
    """LilyPond Notation Reference, "Harp pedals": D♭ C♯ B | E♯ F♯ G A♭ is ^v-|vv-^.

    There C♮ follows, shown by ^o--|vv-^, the ringed pedal being the one that moved.
    """
    setting = Setting.parse("D♭ C♯ B | E♯ F♯ G A♭")
    moved = setting.moved(Letter.C, Position.NATURAL)
    ringed = setting.letters_unlike(moved)
    shown = "".join(
        ("o" if letter in ringed else "") + "^-v"[int(where) + 1] for letter, where in moved
    )

    assert "".join(LILYPOND[sign] for sign in setting.pattern) == "^v-|vv-^"
    assert f"{shown[:4]}|{shown[4:]}" == "^o--|vv-^"
