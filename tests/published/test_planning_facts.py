"""Plans against what is printed about the harp, each check with its source."""

from __future__ import annotations

from itertools import combinations

import pytest
from part_builder import build_part

from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter, Setting
from pedalsetter.analysis.pedal_plan import FindingKind, Severity
from pedalsetter.analysis.planning import plan_changes

SIGNS = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}


def scale(fifths: int, value: str = "e") -> str:
    """The seven letters as the key signature has them, one after the other, and a rest."""
    setting = Setting.of_key(fifths)
    notes = [f"{letter}{SIGNS[setting[Letter(letter)]]}4/{value}" for letter in "CDEFGAB"]
    return " ".join([*notes, f"r/{value}"])


def chord(fifths: int) -> str:
    """All seven letters together, as the key signature has them."""
    setting = Setting.of_key(fifths)
    return "+".join(f"{letter.value}{SIGNS[setting[letter]]}4" for letter in LETTERS)


# Source: Grove's Dictionary of Music, "Harp" (A. J. Hipkins), order of the keys; table computed.
OPENINGS = {
    -7: "bbb|bbbb",
    -6: "bbb|bnbb",
    -5: "bnb|bnbb",
    -4: "bnb|bnnb",
    -3: "nnb|bnnb",
    -2: "nnb|bnnn",
    -1: "nnb|nnnn",
    0: "nnn|nnnn",
    1: "nnn|nsnn",
    2: "nsn|nsnn",
    3: "nsn|nssn",
    4: "ssn|nssn",
    5: "ssn|nsss",
    6: "ssn|ssss",
    7: "sss|ssss",
}


@pytest.mark.parametrize(("fifths", "pattern"), OPENINGS.items())
def test_a_scale_opens_with_the_setting_of_its_key(fifths: int, pattern: str) -> None:
    """Each of the fifteen signatures has its setting, and the scale needs no change."""
    plan = plan_changes(build_part(scale(fifths), key=fifths))
    assert plan.movements[0].opening.pattern == pattern
    assert plan.changes == plan.findings == ()


@pytest.mark.parametrize(("fifths", "pattern"), OPENINGS.items())
def test_letters_that_are_never_played_stand_as_in_the_signature(fifths: int, pattern: str) -> None:
    """A part of one note is set in its key (common practice, no source)."""
    note = f"G{SIGNS[Setting.of_key(fifths)[Letter.G]]}4/w"
    assert plan_changes(build_part(note, key=fifths)).movements[0].opening.pattern == pattern


# Source: strings per pitch class, computed; D, G and A natural alone also H. Berlioz, "La Harpe".
DOUBLE_ALTERATIONS = {
    "Cbb": {"A♯", "B♭"},
    "Dbb": {"C♮", "B♯"},
    "Ebb": {"D♮"},
    "Fbb": {"D♯", "E♭"},
    "Gbb": {"E♯", "F♮"},
    "Abb": {"G♮"},
    "Bbb": {"A♮"},
    "C##": {"D♮"},
    "D##": {"E♮", "F♭"},
    "E##": {"F♯", "G♭"},
    "F##": {"G♮"},
    "G##": {"A♮"},
    "A##": {"C♭", "B♮"},
    "B##": {"C♯", "D♭"},
}


@pytest.mark.parametrize(("name", "strings"), DOUBLE_ALTERATIONS.items())
def test_a_double_alteration_is_played_on_an_equivalent(name: str, strings: set[str]) -> None:
    """No pedal reaches two semitones, and every double alteration has a string all the same."""
    plan = plan_changes(build_part(f"{name}4/w"))
    (use,) = plan.strings.values()
    assert use.sounding is not None
    assert use.sounding.name in strings
    assert use.sounding.midi == use.written.midi
    assert [finding.kind for finding in plan.findings] == [FindingKind.DOUBLE_ALTERATION]
    assert plan.findings[0].severity is Severity.REMARK


def test_berlioz_respells_a_chord_of_double_flats() -> None:
    """The chord D♭♭ F♭ A♭♭ C♭ is played C♮ F♭ G♮ B♮, for C♮ takes the C string.

    Source: H. Berlioz, *Grand traité d'instrumentation*, "La Harpe".
    """
    plan = plan_changes(build_part("Dbb4+Fb4+Abb4+Cb5/w"))
    played = {
        str(use.written.name): use.sounding.name if use.sounding else None
        for use in plan.strings.values()
    }
    assert played == {"D♭♭": "C♮", "F♭": "F♭", "A♭♭": "G♮", "C♭": "B♮"}
    assert not [finding for finding in plan.findings if finding.severity is Severity.UNPLAYABLE]


def test_one_letter_cannot_be_struck_in_two_alterations() -> None:
    """F♮ below with F♯ above is impossible on the F strings: one of them is respelled.

    Source: H. Berlioz, *Grand traité d'instrumentation*, "La Harpe".
    """
    plan = plan_changes(build_part("F3+F#5/w"))
    letters = [use.sounding.letter for use in plan.strings.values() if use.sounding]
    assert len(letters) == 2
    assert len(set(letters)) == 2
    crowded = plan_changes(build_part("F3+F#5+E4+G4/w"))
    assert sum(use.sounding is None for use in crowded.strings.values()) == 1
    (finding,) = crowded.findings
    assert finding.severity is Severity.UNPLAYABLE


def test_the_inner_pedals_are_the_first_flats_and_the_next_the_first_sharps() -> None:
    """B and E, next to the divider, then C and F beside them (common practice, no source)."""
    opening = {
        fifths: plan_changes(build_part(scale(fifths), key=fifths)).movements[0].opening
        for fifths in (-2, -1, 0, 1, 2)
    }
    assert [opening[0].letters_unlike(opening[fifths]) for fifths in (-1, -2)] == [
        (Letter.B,),
        (Letter.B, Letter.E),
    ]
    assert [opening[0].letters_unlike(opening[fifths]) for fifths in (1, 2)] == [
        (Letter.F,),
        (Letter.C, Letter.F),
    ]


@pytest.mark.parametrize("pair", ["DC", "DB", "CB", "EF", "EG", "EA", "FG", "FA", "GA"])
def test_two_pedals_of_one_side_never_move_together(pair: str) -> None:
    """Nine pairs of one side: one foot moves one pedal at a time (common practice, no source)."""
    one, other = pair
    sharp = "#" if pair != "EF" else "b"
    part = build_part(f"{chord(0)}/q r/h.", f"{one}{sharp}4+{other}{sharp}4/w")
    changes = plan_changes(part).changes
    assert {change.letter.value for change in changes} == {one, other}
    assert changes[0].place != changes[1].place


@pytest.mark.parametrize("left", "DCB")
@pytest.mark.parametrize("right", "EFGA")
def test_one_pedal_of_each_side_may_move_together(left: str, right: str) -> None:
    """Twelve pairs: with one place to move, both feet move there (common practice, no source)."""
    part = build_part(f"{chord(0)}/e {left}#4+{right}b4/e r/h.")
    changes = plan_changes(part).changes
    assert {change.letter.value for change in changes} >= {left, right}
    feet = {change.foot for change in changes if change.letter.value in (left, right)}
    assert feet == {Foot.LEFT, Foot.RIGHT}
    assert len({change.place for change in changes if change.letter.value in (left, right)}) == 1


# Keys from and to, pedals moved, notches, left foot, right foot, rounds. Computed; the mechanism
# (flat to sharp passes the natural notch): Encyclopaedia Britannica, "Pedal harp"; Grove, "Harp".
ROUNDS = [
    (0, 1, 1, 1, 0, 1, 1),
    (0, -1, 1, 1, 1, 0, 1),
    (0, -5, 5, 5, 2, 3, 3),
    (0, 4, 4, 4, 2, 2, 2),
    (0, -4, 4, 4, 2, 2, 2),
    (0, 7, 7, 7, 3, 4, 4),
    (0, -7, 7, 7, 3, 4, 4),
    (-7, 7, 7, 14, 3, 4, 4),
    (-1, 6, 7, 7, 3, 4, 4),
    (4, -3, 7, 7, 3, 4, 4),
    (2, -5, 7, 7, 3, 4, 4),
    (5, -7, 7, 12, 3, 4, 4),
    (6, -6, 7, 12, 3, 4, 4),
    (7, -5, 7, 12, 3, 4, 4),
    (-6, 2, 7, 8, 3, 4, 4),
    (-4, 4, 7, 8, 3, 4, 4),
]


@pytest.mark.parametrize(("old", "new", "pedals", "notches", "left", "right", "rounds"), ROUNDS)
def test_a_change_of_key_takes_its_rounds(
    old: int, new: int, pedals: int, notches: int, left: int, right: int, rounds: int
) -> None:
    """Between two full chords each foot moves its pedals one after the other."""
    part = build_part(f"{chord(old)}/h r/h", "r/w", f"{chord(new)}/w", key=old)
    changes = plan_changes(part).changes
    assert len(changes) == pedals
    assert sum(change.old.notches_to(change.new) for change in changes) == notches
    for foot, count in ((Foot.LEFT, left), (Foot.RIGHT, right)):
        places = [change.place for change in changes if change.foot is foot]
        assert len(places) == len(set(places)) == count
    assert Setting.of_key(old).rounds_to(Setting.of_key(new)) == rounds
    assert len({change.place for change in changes}) >= rounds


@pytest.mark.parametrize("name", ["Ebb", "Abb", "Bbb", "C##", "F##", "G##"])
def test_six_double_alterations_have_one_string(name: str) -> None:
    """They sound D, G or A natural, which no other string can give.

    Source: strings per pitch class, computed; the three single ones also H. Berlioz, "La Harpe".
    """
    (use,) = plan_changes(build_part(f"{name}4/w")).strings.values()
    assert use.sounding is not None
    assert use.sounding.name in {"D♮", "G♮", "A♮"}


MINOR_SCALES = {
    "Ab": ("Ab4/e Bb4/e Cb5/e Db5/e Eb5/e Fb5/e G5/e r/e", -7, "bbb|bbnb"),
    "Eb": ("Eb4/e F4/e Gb4/e Ab4/e Bb4/e Cb5/e D5/e r/e", -6, "nbb|bnbb"),
    "Bb": ("Bb4/e C5/e Db5/e Eb5/e F5/e Gb5/e A5/e r/e", -5, "bnb|bnbn"),
}


@pytest.mark.parametrize(("notes", "key", "pattern"), MINOR_SCALES.values(), ids=MINOR_SCALES)
def test_harmonic_minor_in_flats_has_one_setting(notes: str, key: int, pattern: str) -> None:
    """A♭, E♭ and B♭ minor stand in one setting, raised leading note included (computed)."""
    plan = plan_changes(build_part(notes, key=key))
    assert plan.movements[0].opening.pattern == pattern
    assert plan.changes == ()


@pytest.mark.parametrize(
    ("notes", "key"),
    [
        ("G#4/e A#4/e B4/e C#5/e D#5/e E5/e F##5/e G#5/e", 5),
        ("D#4/e E#4/e F#4/e G#4/e A#4/e B4/e C##5/e D#5/e", 6),
        ("A#4/e B#4/e C#5/e D#5/e E#5/e F#5/e G##5/e A#5/e", 7),
    ],
)
def test_their_spelling_in_sharps_costs_a_change(notes: str, key: int) -> None:
    """The double-sharp leading note sounds on the keynote's own string (computed)."""
    plan = plan_changes(build_part(notes, key=key))
    assert len(plan.changes) + len(plan.respelled) > 1


@pytest.mark.parametrize("fifths", range(-7, 5))
def test_harmonic_minor_is_one_pedal_from_its_signature(fifths: int) -> None:
    """The seventh degree's letter one notch down, where no double sharp is needed (computed)."""
    signature = Setting.of_key(fifths)
    tonic = "FCGDAEB".index("A") + fifths
    keynote = Letter("FCGDAEB"[tonic % 7])
    seventh = Letter("CDEFGAB"["CDEFGAB".index(keynote.value) - 1])
    notes = [
        f"{letter.value}{SIGNS[int(position) + (letter is seventh)]}4/e"
        for letter, position in signature
    ]
    plan = plan_changes(build_part(" ".join([*notes, "r/e"]), key=fifths))
    opening = plan.movements[0].opening
    assert signature.letters_unlike(opening) == (seventh,)
    assert signature.notches_to(opening) == 1


def test_thirteen_clusters_of_four_have_no_setting() -> None:
    """Of 495 sets of four pitch classes 13 are impossible (computed).

    Nine hold G, A♭ and A, whose middle note has both spellings on letters already in use; the
    other four are B–C–C♯–D, A–B♭–B–C, D–E♭–E–F and E–F–F♯–G.
    """
    names = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"]
    sets = list(combinations(range(12), 4))
    assert len(sets) == 495
    impossible = set()
    for classes in sets:
        part = build_part("+".join(names[one] + "4" for one in classes) + "/w")
        plan = plan_changes(part)
        if any(use.sounding is None for use in plan.strings.values()):
            impossible.add(classes)
    others = {(0, 1, 2, 11), (0, 9, 10, 11), (2, 3, 4, 5), (4, 5, 6, 7)}
    assert len(impossible) == 13
    assert others <= impossible
    assert all({7, 8, 9} <= set(one) for one in impossible - others)


def test_only_one_cluster_of_three_has_no_setting() -> None:
    """G–A♭–A, whatever its spelling (computed)."""
    names = ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"]
    impossible = [
        classes
        for classes in combinations(range(12), 3)
        if any(
            use.sounding is None
            for use in plan_changes(
                build_part("+".join(names[one] + "4" for one in classes) + "/w")
            ).strings.values()
        )
    ]
    assert impossible == [(7, 8, 9)]
