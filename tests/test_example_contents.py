"""What each example score is there to show, and the study's unplayable spots."""

from __future__ import annotations

from fractions import Fraction

import music21
import pytest
from example_scores import (
    CHROMATIC_STUDY,
    EVENING_WATER,
    ORCHESTRAL_NOCTURNE,
    RESPELLED_SPOTS,
    THREE_TIMES_ROUND,
    UNPLAYABLE_SPOTS,
    Spot,
)
from score_xml import can_be_set, harp_of, pitch_of, struck, text

from pedalsetter.analysis.instrument.harp import Harp, Letter
from pedalsetter.analysis.instrument.respelling import Pitch, strings_for


def test_the_solo_has_what_the_page_must_show() -> None:
    """Pickup, 8va, harmonics, rolled chords, cross-staff beams, triplets, graces, a double flat."""
    harp = harp_of(EVENING_WATER)
    first = harp.find("measure")
    assert first is not None
    crossing = {
        text(note, "voice")
        for note in harp.iter("note")
        if note.find("beam") is not None
        and (text(note, "voice") >= "5") != (text(note, "staff") == "2")
    }

    assert (first.get("number"), first.get("implicit")) == ("0", "yes")
    assert crossing == {"5"}
    assert sum(1 for _ in harp.iter("harmonic")) >= 6
    assert len([a for a in harp.iter("octave-shift") if a.get("type") == "down"]) == 1
    assert {a.get("number") for a in harp.iter("arpeggiate")} == {"1"}
    assert [a.text for a in harp.iter("accidental")].count("flat-flat") == 3
    assert [text(n, "actual-notes") for n in harp.iter("time-modification")].count("3") >= 30
    assert list(harp.iter("grace"))
    assert list(harp.iter("fermata"))
    assert [tie for tie in harp.iter("tied") if tie.get("type") == "let-ring"]
    assert {"rit.", "poco rit.", "calando"} <= {words.text for words in harp.iter("words")}


def test_the_harp_of_the_orchestra_rests_and_enters() -> None:
    """Eight, six and four bars of rest; a glissando with its setting, D C B♯ | E F♯ G♭ A."""
    harp = harp_of(ORCHESTRAL_NOCTURNE)
    sounding = sorted({bar for bar, _ in struck(ORCHESTRAL_NOCTURNE)})
    (setting,) = harp.iter("harp-pedals")

    assert sounding == [*range(9, 17), *range(23, 29), *range(33, 41)]
    assert [line.get("type") for line in harp.iter("glissando")] == ["start", "stop"]
    assert [(text(pedal, "pedal-step"), text(pedal, "pedal-alter")) for pedal in setting] == list(
        zip("DCBEFGA", ["0", "0", "1", "0", "1", "-1", "0"], strict=True)
    )


def test_transposing_parts_are_written_as_they_are_read() -> None:
    """Clarinet in B♭ a tone, horn in F a fifth above the sound; in concert all keys agree."""
    score = music21.converter.parse(ORCHESTRAL_NOCTURNE.path, forceSource=True)
    written = {
        part.partName: [key.sharps for key in part.recurse().getElementsByClass("KeySignature")]
        for part in score.parts
    }
    concert = {
        part.partName: [key.sharps for key in part.recurse().getElementsByClass("KeySignature")]
        for part in score.toSoundingPitch().parts
    }

    assert written["Clarinet in B♭"] == [-1, 3, -1]
    assert written["Horn in F"] == [-2, 2, -2]
    assert {tuple(keys) for keys in concert.values()} == {ORCHESTRAL_NOCTURNE.fifths}


def test_the_round_goes_round() -> None:
    """First and second ending, segno, To Coda, D.S. al Coda, coda; a run of sevens and a line."""
    harp = harp_of(THREE_TIMES_ROUND)
    where = {
        kind: [
            element.getparent().get("number")  # type: ignore[union-attr]
            for element in harp.iter("barline", "direction")
            for _ in element.iter(kind)
        ]
        for kind in ("repeat", "ending", "segno", "coda")
    }
    jumps = {
        name: direction.getparent().get("number")  # type: ignore[union-attr]
        for direction in harp.iter("direction")
        for sound in direction.iter("sound")
        for name in ("segno", "tocoda", "dalsegno", "coda")
        if sound.get(name)
    }

    assert where == {
        "repeat": ["1", "8"],
        "ending": ["7", "8", "9", "10"],
        "segno": ["11"],
        "coda": ["27"],
    }
    assert jumps == {"segno": "11", "tocoda": "18", "dalsegno": "26", "coda": "27"}
    assert [e.get("number") for e in harp.iter("ending")] == ["1", "1", "2", "2"]
    assert [n.text for n in harp.iter("actual-notes")] == ["7"] * 14
    assert [line.get("type") for line in harp.iter("glissando")] == ["start", "stop"]


def test_the_round_must_restore_its_pedals() -> None:
    """Bars 8 and 26 end on notes that the place they lead back to wants otherwise.

    D♯ in bar 8 before D♮ in bar 1; E♭ in bar 26 before E♮ in bar 11.
    """
    notes = struck(THREE_TIMES_ROUND)

    def alters(bar: int, letter: Letter) -> list[int]:
        pitches = [pitch_of(n) for (b, _), ns in sorted(notes.items()) if b == bar for n in ns]
        return [pitch.alter for pitch in pitches if pitch.letter is letter]

    assert alters(8, Letter.D)[-1] == 1
    assert alters(1, Letter.D)[0] == 0
    assert alters(26, Letter.E)[-1] == -1
    assert alters(11, Letter.E)[0] == 0


def names_at(place: tuple[int, Fraction]) -> list[str]:
    """What the study strikes at a place, lowest first."""
    pitches = [pitch_of(note) for note in struck(CHROMATIC_STUDY)[place]]
    return [str(pitch) for pitch in sorted(pitches, key=lambda pitch: pitch.midi)]


@pytest.mark.parametrize("spot", UNPLAYABLE_SPOTS, ids=lambda spot: f"bar {spot.bar}")
def test_each_unplayable_spot_holds_its_notes(spot: Spot) -> None:
    """The table of spots and the score name the same notes at the same places."""
    first = (spot.bar, spot.offset)
    if first == spot.until:
        assert tuple(names_at(first)) == spot.notes
    else:
        run = [place for place in sorted(struck(CHROMATIC_STUDY)) if first <= place < spot.until]
        assert tuple(name for place in run for name in names_at(place)) == spot.notes


def test_only_the_spots_cannot_be_set_or_reached() -> None:
    """Everywhere else in the study a setting sounds each chord, and each note is on the harp."""
    bad = set()
    for place, notes in struck(CHROMATIC_STUDY).items():
        pitches = [pitch_of(note) for note in notes]
        if not can_be_set(pitches):
            bad.add(place)
        if any(not any(Harp().has(s.string) for s in strings_for(p)) for p in pitches):
            bad.add(place)

    assert bad == {
        (5, Fraction(2)),
        (13, Fraction(0)),
        (20, Fraction(3)),
        (22, Fraction(0)),
    }


def test_the_tied_note_and_the_lowest_strings_are_in_each_others_way() -> None:
    """F♯ cannot join E♮, G♮ and a sounding F♮; C1 and D1 are wanted in two tunings."""
    tied = [Pitch(Letter.F, 0, 5), Pitch(Letter.F, 1, 4), Pitch(Letter.E, 0, 3)]
    lowest = {
        str(pitch_of(note))
        for notes in struck(CHROMATIC_STUDY).values()
        for note in notes
        if pitch_of(note).octave == 1 and pitch_of(note).letter in (Letter.C, Letter.D)
    }

    assert not can_be_set([*tied, Pitch(Letter.G, 0, 3)])
    assert {"C1", "C♯1", "D1"} <= lowest


@pytest.mark.parametrize(("bar", "offset", "written", "string"), RESPELLED_SPOTS)
def test_a_respelled_spot_needs_its_respelling(
    bar: int, offset: Fraction, written: str, string: str
) -> None:
    """C♯ meets C♮, and the chord can be set only on the D♭ string or by B♯ for C."""
    notes = [pitch_of(note) for note in struck(CHROMATIC_STUDY)[bar, offset]]
    (pitch,) = (note for note in notes if str(note) == written)

    assert can_be_set(notes)
    assert any(n.letter is pitch.letter and n.alter != pitch.alter for n in notes)
    assert string in [s.name for s in strings_for(pitch)]
