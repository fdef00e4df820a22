"""MusicXML's own values for the harp, and its test suite, held against the reader.

Sources: W3C MusicXML 4.0 reference, ``harp-pedals``, ``pedal-tuning``, ``pedal-step``,
``pedal-alter``, ``tied``, ``octave-shift``, ``transpose``; the MusicXML test suite, as shipped
with music21.
"""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import music21
import pytest
from score_snippets import bars, direction, note, read

from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.part import Grace
from pedalsetter.analysis.reading import read_part

SUITE = Path(music21.__file__).parent / "musicxml" / "lilypondTestSuite"


def tuning(step: str, alter: object) -> str:
    """S1: ``pedal-tuning`` holds exactly ``pedal-step``, then ``pedal-alter``."""
    return (
        f"<pedal-tuning><pedal-step>{step}</pedal-step><pedal-alter>{alter}</pedal-alter>"
        "</pedal-tuning>"
    )


def read_pedals(tunings: str) -> tuple[tuple[str, int], ...]:
    """The pedals of one diagram as read."""
    part = read(bars(direction(f"<harp-pedals>{tunings}</harp-pedals>") + note("C4", 4)))
    return part.source_marks[0].pedals


@pytest.mark.parametrize("pattern", ["bbb|bbbb", "bsn|ssnb", "sns|bsbn", "nnn|nnnn"])
def test_s1_s2_the_documented_form_gives_the_setting(pattern: str) -> None:
    """S2: −1 flat, 0 natural, 1 sharp; S25 to S27 are the values."""
    setting = Setting.parse_pattern(pattern)
    tunings = "".join(tuning(letter.value, int(position)) for letter, position in setting)
    part = read(bars(direction(f"<harp-pedals>{tunings}</harp-pedals>") + note("C4", 4)))
    assert part.source_marks[0].setting() == setting


def test_s2_alter_is_a_decimal_number() -> None:
    """``semitones`` is decimal: 1.0 is a sharp, -1.00 a flat."""
    assert read_pedals(tuning("C", "1.0") + tuning("D", "-1.00")) == (("C", 1), ("D", -1))


def test_s3_a_natural_is_an_explicit_zero() -> None:
    """Both children are required: a pedal without its alteration is not taken for a natural."""
    assert read_pedals(
        "<pedal-tuning><pedal-step>C</pedal-step></pedal-tuning>" + tuning("D", 0)
    ) == (("D", 0),)


def test_s4_any_order_is_accepted() -> None:
    """The order D C B E F G A is advice; every order names the same setting."""
    for order in list(permutations("DCBEFGA"))[::500]:
        part = read(
            bars(
                direction(
                    f"<harp-pedals>{''.join(tuning(step, 0) for step in order)}</harp-pedals>"
                )
                + note("C4", 4)
            )
        )
        setting = part.source_marks[0].setting()
        assert setting is not None
        assert all(setting[letter] is Position.NATURAL for letter in Letter)


def test_s4_partial_sets_are_accepted() -> None:
    """The schema allows any number from one up."""
    assert read_pedals(tuning("B", -1)) == (("B", -1),)


@pytest.mark.parametrize(
    "tunings",
    [tuning("C", 2), tuning("C", -2), tuning("C", 0) + tuning("C", 1), tuning("F", 1)],
)
def test_s5_valid_by_schema_yet_no_setting(tunings: str) -> None:
    """±2, one step twice, or fewer than seven: kept as read, but not a setting."""
    part = read(bars(direction(f"<harp-pedals>{tunings}</harp-pedals>") + note("C4", 4)))
    assert part.source_marks[0].setting() is None


@pytest.mark.parametrize("number", range(1, 12))
def test_test_suite_72b_every_transposition_sounds_the_same_c(number: int) -> None:
    """The suite says: each part plays a c'', only displayed in different display pitches."""
    part = read_part(SUITE / "72b-TransposingInstruments-Full.xml", str(number))
    assert [head.pitch.midi for _, head in part.notes()] == [72]


def test_test_suite_24c_grace_note_at_the_measure_end() -> None:
    """The suite says: some applications need to convert this into an after-grace."""
    part = read_part(SUITE / "24c-GraceNote-MeasureEnd.xml")
    assert [event.grace for event in part.events if event.grace] == [Grace(after=True)] * len(
        [event for event in part.events if event.grace]
    )
    assert any(event.grace for event in part.events)


def test_test_suite_33i_ties_that_have_their_end_missing() -> None:
    """The suite says: several ties have their end missing; each that stays has a partner."""
    part = read_part(SUITE / "33i-Ties-NotEnded.xml")
    starts = [event for event, head in part.notes() if head.tie_start]
    for event in starts:
        assert any(other.onset == event.end and head.tie_stop for other, head in part.notes())


@pytest.mark.parametrize("path", sorted(SUITE.glob("*.xml")), ids=lambda path: path.stem)
def test_the_whole_test_suite_is_read(path: Path) -> None:
    """Every file that holds one part is read, and its bars follow each other without a gap."""
    part = read_part(path, "1")
    assert part.bars
    for before, after in zip(part.bars, part.bars[1:], strict=False):
        assert after.start == before.end
    for event in part.events:
        bar = part.bars[event.bar]
        assert bar.start <= event.onset
        assert event.end <= bar.end
    identities = [head.id for _, head in part.notes()]
    assert len(identities) == len(set(identities))
