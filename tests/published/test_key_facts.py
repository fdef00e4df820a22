"""Settings of keys, and what it costs to move from one to another.

Each test names its source. *Exhaustion* means: computed once by going through every setting or
every set of pitch classes, and kept here as a figure. music21, which knows nothing of
pedals, is the second opinion on keys and scales.
"""

from __future__ import annotations

from collections import Counter
from itertools import combinations, permutations

import pytest
from major_keys import setting_of
from music21 import key as music21_key
from music21 import pitch as music21_pitch
from music21 import scale as music21_scale

from pedalsetter.analysis.glissandi.glissando import exact_settings
from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter, Position, Setting
from pedalsetter.analysis.instrument.respelling import Pitch, strings_for

EVERY = tuple(Setting.every())


def test_two_feet_make_twelve_pairs() -> None:
    """One pedal of each side may move at one moment: 3 × 4 pairs (common practice; computed).

    Pairs of one side, 3 left and 6 right, are moved one after the other.
    """
    pairs = Counter(frozenset((one.foot, two.foot)) for one, two in combinations(LETTERS, 2))

    assert pairs[frozenset((Foot.LEFT, Foot.RIGHT))] == 12
    assert pairs[frozenset((Foot.LEFT,))] == 3
    assert pairs[frozenset((Foot.RIGHT,))] == 6


@pytest.mark.parametrize(
    ("start", "end", "pedals", "notches", "left", "right", "rounds"),
    [
        ("C", "G", 1, 1, 0, 1, 1),
        ("C", "F", 1, 1, 1, 0, 1),
        ("C", "D♭", 5, 5, 2, 3, 3),
        ("C", "E", 4, 4, 2, 2, 2),
        ("C", "A♭", 4, 4, 2, 2, 2),
        ("C", "C♯", 7, 7, 3, 4, 4),
        ("C", "C♭", 7, 7, 3, 4, 4),
        ("C♭", "C♯", 7, 14, 3, 4, 4),
        ("F", "F♯", 7, 7, 3, 4, 4),
        ("E", "E♭", 7, 7, 3, 4, 4),
        ("D", "D♭", 7, 7, 3, 4, 4),
        ("B", "C♭", 7, 12, 3, 4, 4),
        ("F♯", "G♭", 7, 12, 3, 4, 4),
        ("C♯", "D♭", 7, 12, 3, 4, 4),
        ("G♭", "D", 7, 8, 3, 4, 4),
        ("A♭", "E", 7, 8, 3, 4, 4),
    ],
)
def test_the_cost_of_a_change_of_key(
    start: str, end: str, pedals: int, notches: int, left: int, right: int, rounds: int
) -> None:
    """Pedals, notches, feet and rounds from one major key to another, there and back (computed)."""
    for one, two in permutations((setting_of(start), setting_of(end))):
        feet = Counter(letter.foot for letter in one.letters_unlike(two))

        assert len(one.letters_unlike(two)) == pedals
        assert one.notches_to(two) == notches
        assert (feet[Foot.LEFT], feet[Foot.RIGHT]) == (left, right)
        assert one.rounds_to(two) == rounds


def test_rounds_are_what_the_busier_foot_needs() -> None:
    """One pedal per foot per round: never more than four rounds, four only by the right foot."""
    natural = setting_of("C")
    for setting in EVERY:
        feet = Counter(letter.foot for letter in natural.letters_unlike(setting))

        assert natural.rounds_to(setting) == max(feet[Foot.LEFT], feet[Foot.RIGHT])
    assert max(natural.rounds_to(setting) for setting in EVERY) == 4


@pytest.mark.parametrize(("sharp", "flat"), [("B", "C♭"), ("F♯", "G♭"), ("C♯", "D♭")])
def test_an_enharmonic_change_of_key_is_never_free(sharp: str, flat: str) -> None:
    """The same sounds, yet all seven pedals move, twelve notches in all (computed).

    Prefer the flat one: Berlioz, "La Harpe"; Prout, The Orchestra, vol. I.
    """
    one, two = setting_of(sharp), setting_of(flat)

    assert one.pitch_classes() == two.pitch_classes()
    assert (len(one.letters_unlike(two)), one.notches_to(two)) == (7, 12)


# Computed; the order agrees with Grove's Dictionary, "Harp", p. 327.
OPENING_SETTINGS = """
    C♭ | A♭ | bbbbbbb | D♭ C♭ B♭ E♭ F♭ G♭ A♭
    G♭ | E♭ | bbbbnbb | D♭ C♭ B♭ E♭ F♮ G♭ A♭
    D♭ | B♭ | bnbbnbb | D♭ C♮ B♭ E♭ F♮ G♭ A♭
    A♭ | F  | bnbbnnb | D♭ C♮ B♭ E♭ F♮ G♮ A♭
    E♭ | C  | nnbbnnb | D♮ C♮ B♭ E♭ F♮ G♮ A♭
    B♭ | G  | nnbbnnn | D♮ C♮ B♭ E♭ F♮ G♮ A♮
    F  | D  | nnbnnnn | D♮ C♮ B♭ E♮ F♮ G♮ A♮
    C  | A  | nnnnnnn | D♮ C♮ B♮ E♮ F♮ G♮ A♮
    G  | E  | nnnnsnn | D♮ C♮ B♮ E♮ F♯ G♮ A♮
    D  | B  | nsnnsnn | D♮ C♯ B♮ E♮ F♯ G♮ A♮
    A  | F♯ | nsnnssn | D♮ C♯ B♮ E♮ F♯ G♯ A♮
    E  | C♯ | ssnnssn | D♯ C♯ B♮ E♮ F♯ G♯ A♮
    B  | G♯ | ssnnsss | D♯ C♯ B♮ E♮ F♯ G♯ A♯
    F♯ | D♯ | ssnssss | D♯ C♯ B♮ E♯ F♯ G♯ A♯
    C♯ | A♯ | sssssss | D♯ C♯ B♯ E♯ F♯ G♯ A♯
"""

KEY_ROWS = [
    (index - 7, *(cell.strip() for cell in line.split("|")))
    for index, line in enumerate(OPENING_SETTINGS.strip().splitlines())
]


@pytest.mark.parametrize(("fifths", "major", "minor", "pattern", "names"), KEY_ROWS)
def test_the_setting_of_each_key_signature(
    fifths: int, major: str, minor: str, pattern: str, names: str
) -> None:
    """All 15 signatures, from no notch down to 14, against music21's signatures and scales."""
    setting = Setting.of_key(fifths)
    signature = music21_key.KeySignature(fifths)
    altered = {p.step: int(p.alter) for p in signature.alteredPitches}
    scale = {p.pitchClass for p in signature.asKey("minor").pitches}

    assert setting.pattern.replace("|", "") == pattern
    assert str(setting).replace("| ", "") == names
    assert setting_of("C♭").notches_to(setting) == fifths + 7
    assert {letter.value: int(where) for letter, where in setting if where} == altered
    assert signature.asKey("major").tonic.name == major.replace("♭", "-").replace("♯", "#")
    assert signature.asKey("minor").tonic.name == minor.replace("♭", "-").replace("♯", "#")
    assert setting.pitch_classes() == scale


def test_flats_come_from_the_middle_pedals() -> None:
    """B and E, the inner pair, are the first two flats; their neighbours C and F the first sharps.

    Common practice, no source, for the use of it; the order of signs by music21.
    """
    natural = Setting.of_key(0)
    inner = {LETTERS[2].value, LETTERS[3].value}
    next_to_inner = {LETTERS[1].value, LETTERS[4].value}

    assert {p.step for p in music21_key.KeySignature(-2).alteredPitches} == inner
    assert {p.step for p in music21_key.KeySignature(2).alteredPitches} == next_to_inner
    assert {x.value for x in natural.letters_unlike(Setting.of_key(-2))} == inner
    assert {x.value for x in natural.letters_unlike(Setting.of_key(2))} == next_to_inner


def harmonic_minor(tonic: str) -> list[tuple[str, int]]:
    """Letter and alteration of the seven notes, by music21."""
    pitches = music21_scale.HarmonicMinorScale(tonic).getPitches(f"{tonic}4", f"{tonic}5")
    return [(p.step, int(p.alter)) for p in pitches[:-1]]


@pytest.mark.parametrize(
    ("fifths", "tonic", "pattern"),
    [(0, "A", "nnn|nnsn"), (-3, "C", "nnn|bnnb")],
)
def test_harmonic_minor_is_one_pedal_away(fifths: int, tonic: str, pattern: str) -> None:
    """A minor from the signature by G♯, C minor by B♮: one letter, one notch down (computed)."""
    setting = Setting.parse_pattern(pattern)
    (moved,) = Setting.of_key(fifths).letters_unlike(setting)

    assert Setting.of_key(fifths).notches_to(setting) == 1
    assert setting[moved] > Setting.of_key(fifths)[moved]
    assert {letter.value: int(where) for letter, where in setting} == dict(harmonic_minor(tonic))


def test_twelve_minor_keys_reach_their_leading_note_by_one_notch() -> None:
    """In all minor keys but three the seventh letter, one notch down, gives harmonic minor."""
    easy = []
    for fifths in range(-7, 8):
        tonic = music21_key.KeySignature(fifths).asKey("minor").tonic.name
        notes = harmonic_minor(tonic)
        if any(abs(alter) > 1 for _, alter in notes):
            continue
        alters = dict(notes)
        setting = Setting(tuple(Position(alters[letter.value]) for letter in LETTERS))
        easy.append(tonic)

        assert Setting.of_key(fifths).notches_to(setting) == 1
    assert len(easy) == 12


@pytest.mark.parametrize(
    ("sharp", "leading", "played", "flat", "pattern"),
    [
        ("G#", "F♯♯", "G♮", "A-", "bbb|bbnb"),
        ("D#", "C♯♯", "D♮", "E-", "nbb|bnbb"),
        ("A#", "G♯♯", "A♮", "B-", "bnb|bnbn"),
    ],
)
def test_three_minor_keys_are_rewritten_in_flats(
    sharp: str, leading: str, played: str, flat: str, pattern: str
) -> None:
    """G♯, D♯ and A♯ minor: the leading note needs the string of the keynote itself (computed).

    Rewritten in A♭, E♭ and B♭ minor the harmonic scale has its one setting.
    """
    step, alter = harmonic_minor(sharp)[6]
    pitch = Pitch(Letter(step), alter, 4)
    scale = {
        music21_pitch.Pitch(s + "#" * a if a > 0 else s + "-" * -a).pitchClass
        for s, a in harmonic_minor(flat)
    }
    (only,) = exact_settings(scale)

    assert pitch.name == leading
    assert [s.name for s in strings_for(pitch)] == [played]
    assert played[0] == sharp[0]
    assert only.setting.pattern == pattern
    assert {letter.value: int(w) for letter, w in only.setting} == dict(harmonic_minor(flat))
