"""``pedalsetter glissando`` against published examples and against counts by exhaustion.

What a musician types, note by note, chord by chord and scale by scale, must give the settings and
the numbers that stand in ``glissando_tables.py`` and in the books named here. Pedal order
D C B | E F G A, ``b`` flat, ``n`` natural, ``s`` sharp.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest
from glissando_tables import (
    COUNTS_WITHOUT_FOREIGN_NOTES,
    EXACT_COUNTS,
    ROOTS,
    SHAPES,
    cells,
    explicit,
)
from typer.testing import CliRunner

from pedalsetter.engrave import command_line

TYPED = {
    "dim7": "{}dim7",
    "dom7": "{}7",
    "half-dim7": "{}m7b5",
    "minor7": "{}m7",
    "major7": "{}maj7",
    "aug triad": "{}aug",
    "7♯5": "{}7#5",
    "aug maj7": "{}maj7#5",
    "min-maj7": "{}mM7",
    "dom7♭5": "{}7b5",
    "major triad": "{}",
    "minor triad": "{}m",
    "whole-tone": "{} whole tone",
    "major pentatonic": "{} major pentatonic",
    "dom9": "{}9",
    "dom7♭9": "{}7b9",
    "augmented hexatonic": "{} augmented hexatonic",
    "octatonic": "{} octatonic",
    "major scale": "{} major",
    "harmonic minor": "{} harmonic minor",
    "melodic minor": "{} melodic minor",
}
"""What a musician types for each shape of the tables."""

NAMES = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@cache
def answer(*words: str) -> dict[str, Any]:
    """The JSON that the command prints."""
    result = CliRunner().invoke(command_line.app, ["glissando", *words, "--json"])
    assert result.exit_code == 0, result.output
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def patterns(entries: list[dict[str, Any]]) -> list[str]:
    """Settings of the document in the short form, alphabetically."""
    found = []
    for entry in entries:
        signs = "".join("bns"[entry["pedals"][letter] + 1] for letter in "DCBEFGA")
        found.append(f"{signs[:3]}|{signs[3:]}")
    return sorted(found)


def typed(shape: str, root: int) -> dict[str, Any]:
    """The answer for a shape on a root, typed with a sharp."""
    return answer(*TYPED[shape].format(ROOTS[root].replace("♯", "#")).split())


@pytest.mark.parametrize("shape", SHAPES)
def test_counts_of_both_tables_on_every_root(shape: str) -> None:
    """How many settings sound a set exactly, and how many stay inside it (exhaustion)."""
    assert set(TYPED) == set(SHAPES)
    for root in range(12):
        document = typed(shape, root)
        exact, inside = len(document["exact"]), len(document["inside"])
        assert (shape, root, exact) in cells(EXACT_COUNTS)
        assert (shape, root, exact + inside) in cells(COUNTS_WITHOUT_FOREIGN_NOTES)
        assert not any(entry["foreign"] for entry in document["exact"] + document["inside"])
        assert all(entry["foreign"] for entry in document["nearest"])


@pytest.mark.parametrize(("shape", "root", "expected"), explicit())
def test_the_settings_written_out(shape: str, root: int, expected: list[str]) -> None:
    """Every setting of eight kinds of chord and scale, root by root (exhaustion)."""
    assert patterns(typed(shape, root)["exact"]) == sorted(expected)


def test_parish_alvars_slides_a_diminished_seventh_with_three_fingers() -> None:
    """Berlioz, Grand traité d'instrumentation, "La Harpe": C E♭ G♭ A by three unisons.

    B♯ = C, D♯ = E♭ and F♯ = G♭; A stands alone. There is no other setting for the chord.
    """
    (only,) = answer("C", "Eb", "Gb", "A")["exact"]

    assert only["setting"] == "D♯ C♮ B♯ | E♭ F♯ G♭ A♮"
    assert {frozenset(pair) for pair in only["unisons"]} == {
        frozenset({"B♯", "C♮"}),
        frozenset({"D♯", "E♭"}),
        frozenset({"F♯", "G♭"}),
    }


def test_c_flat_with_b_and_e_flat_with_d_sharp_are_unisons() -> None:
    """Berlioz, same page: these two pairs are given as unisons.

    They stand together in one exact setting of B major seventh, B D♯ F♯ A♯.
    """
    unisons = [{frozenset(pair) for pair in entry["unisons"]} for entry in answer("Bmaj7")["exact"]]

    pairs = {frozenset({"C♭", "B♮"}), frozenset({"D♯", "E♭"})}
    assert any(pairs <= found for found in unisons)


def test_seventh_and_ninth_chords_are_had_by_enharmonic_setting() -> None:
    """Rimsky-Korsakov, Principles of Orchestration, ch. I, "Harp" (from memory).

    Every exact seventh or ninth chord needs at least one unison: two letters tuned alike.
    """
    for kind in ("7", "m7", "maj7", "dim7", "9"):
        for root in ROOTS:
            for entry in answer(root.replace("♯", "#") + kind)["exact"]:
                assert entry["unisons"]


def test_foreign_notes_are_told_not_refused() -> None:
    """Rimsky-Korsakov, Principles of Orchestration, ch. IV: they may be meant.

    His examples are Snegurochka 325 and Pan Voyevoda 128. The command ends with 0 and names them.
    """
    document = answer("C7")

    assert (document["exact"], document["inside"]) == ([], [])
    assert [entry["foreign"] for entry in document["nearest"]]
    assert {note[0] for entry in document["nearest"] for note in entry["foreign"]} == {"D"}


def test_the_glissando_of_a_fauns_afternoon() -> None:
    """Debussy, Prélude à l'après-midi d'un faune, bar 4: A♯ half-diminished (from memory)."""
    assert patterns(answer("A#m7b5")["exact"]) == ["bsb|nbsb", "bsb|nbss"]


def test_the_standard_pentatonic_is_the_only_one() -> None:
    """D C B♯ | E F♭ G A for C major pentatonic. Common practice; uniqueness by exhaustion."""
    assert patterns(answer("C", "pentatonic")["exact"]) == ["nns|nbnn"]


def test_whole_tone_glissandi() -> None:
    """D C B♯ | E F♯ G♯ A♯ and D♭ C♭ B | E♭ F G A. Common practice, no source.

    The set with C has five settings, the other four (exhaustion).
    """
    on_c, on_d_flat = answer("whole", "tone"), answer("Db", "whole", "tone")

    assert "nns|nsss" in patterns(on_c["exact"])
    assert "bbn|bnnn" in patterns(on_d_flat["exact"])
    assert (len(on_c["exact"]), len(on_d_flat["exact"])) == (5, 4)


def test_the_three_diminished_sevenths_have_one_setting_each() -> None:
    """C, C♯ and D; all other diminished sevenths are these (exhaustion)."""
    found = {root: patterns(answer(f"{root}dim7")["exact"]) for root in ("C", "C#", "D")}

    assert found == {"C": ["sns|bsbn"], "C#": ["bsb|nbns"], "D": ["nbn|snsb"]}
    for higher in ("Eb", "Gb", "A"):
        assert patterns(answer(f"{higher}dim7")["exact"]) == ["sns|bsbn"]


@pytest.mark.parametrize(
    ("kind", "counts"),
    [
        ("7", {"Db": 2, "E": 1, "F#": 2, "Ab": 2, "B": 1}),
        ("9", dict(zip(NAMES, (2, 4, 2, 3, 3, 2, 4, 1, 4, 2, 3, 3), strict=True))),
        ("m7b5", {"C": 2, "D": 1, "F": 2, "G": 1, "Bb": 2}),
        ("m7", {"Db": 2, "Eb": 2, "F": 2, "Ab": 2, "Bb": 2}),
        ("maj7", {"Db": 2, "E": 2, "F#": 2, "B": 2}),
        (" major pentatonic", dict(zip(NAMES, (1, 6, 2, 4, 6, 1, 6, 1, 6, 4, 2, 6), strict=True))),
    ],
)
def test_on_which_roots_a_chord_can_be_slid(kind: str, counts: dict[str, int]) -> None:
    """Roots with their number of settings, and no other root (exhaustion)."""
    total = 0
    for root in NAMES:
        found = len(answer(*f"{root}{kind}".split())["exact"])
        total += found
        assert found == counts.get(root, 0), root
    assert total == sum(counts.values())


@pytest.mark.parametrize("kind", ["", "m", "aug", "dim"])
def test_no_triad_can_be_slid(kind: str) -> None:
    """No setting has fewer than four pitch classes, so no triad is a pure glissando."""
    for root in ROOTS:
        document = answer(root.replace("♯", "#") + kind)
        assert (document["exact"], document["inside"]) == ([], [])


def test_25_four_note_chords_can_be_slid() -> None:
    """3 dim7, 5 dom7, 5 half-dim7, 5 minor7, 4 major7, and one each of 7♯5, maj7♯5 and mM7.

    Their settings are 3 + 8 + 8 + 10 + 8 + 1 + 2 + 2 = 42 (exhaustion).
    """
    chords: dict[tuple[int, ...], int] = {}
    for kind in ("dim7", "7", "m7b5", "m7", "maj7", "7#5", "maj7#5", "mM7"):
        for root in ROOTS:
            document = answer(root.replace("♯", "#") + kind)
            if document["exact"]:
                chords[tuple(document["pitch_classes"])] = len(document["exact"])

    assert (len(chords), sum(chords.values())) == (25, 42)


def test_augmented_chords() -> None:
    """The plain triad never; 7♯5 only on E; the augmented hexatonic 4, 4, 2, 2 (exhaustion)."""
    assert patterns(answer("E7#5")["exact"]) == ["nns|nbsb"]
    found = [
        len(answer(root, "augmented", "hexatonic")["exact"]) for root in ("C", "Db", "D", "Eb")
    ]
    assert found == [4, 4, 2, 2]


def test_octatonic_glissandi_lack_one_note() -> None:
    """Eight notes on seven strings: none exact, 128 inside each set (exhaustion).

    With seven different notes among them 8 for the set on C, 12 for each of the other two.
    """
    sevens = []
    for root in ("C", "C#", "D"):
        document = answer(root, "octatonic")
        assert document["exact"] == []
        assert len(document["inside"]) == 128
        sevens.append(sum(len(entry["missing"]) == 1 for entry in document["inside"]))

    assert sevens == [8, 12, 12]


def test_c_major_in_four_ways() -> None:
    """Plain; C♭ + B♯ for B + C; E♯ + F♭ for F + E; and both (exhaustion)."""
    assert patterns(answer("C", "major")["exact"]) == [
        "nbs|nnnn",
        "nbs|sbnn",
        "nnn|nnnn",
        "nnn|sbnn",
    ]


def test_every_major_and_harmonic_minor_scale_has_a_setting() -> None:
    """On each of twelve keynotes at least one (exhaustion)."""
    for root in ROOTS:
        for kind in ("major", "harmonic minor", "melodic minor"):
            assert answer(root.replace("♯", "#"), *kind.split())["exact"]
