"""The harp joined with the other parts of its score.

The example is our own orchestral score; that parts are read at sounding pitch is held against
music21, which transposes by code of its own.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import music21
import pytest
from example_scores import EVENING_WATER, ORCHESTRAL_NOCTURNE
from lxml import etree
from part_builder import build_part

from pedalsetter.analysis.ensemble.full_score import FullScore, joined, read_full_score
from pedalsetter.analysis.errors import PartError
from pedalsetter.analysis.part import DirectionKind, HarpPart
from pedalsetter.analysis.reading import read_part


@pytest.fixture(scope="module")
def harp() -> HarpPart:
    """The harp of the nocturne."""
    return read_part(ORCHESTRAL_NOCTURNE.path)


@pytest.fixture(scope="module")
def whole(harp: HarpPart) -> FullScore:
    """The nocturne with all its parts."""
    return read_full_score(ORCHESTRAL_NOCTURNE.path, harp)


def test_parts_stand_in_the_order_of_the_score(whole: FullScore) -> None:
    """Eleven parts, the harp sixth with two staves, so that there are twelve."""
    assert tuple(player.name for player in whole.players) == ORCHESTRAL_NOCTURNE.parts
    assert [player.first for player in whole.players] == [1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12]
    assert (whole.part.staves, whole.harp.first, whole.harp.staves) == (12, 6, 2)


def test_every_part_sounds_as_music21_hears_it(whole: FullScore) -> None:
    """Clarinet, horn and double bass transpose; here all are written as they sound."""
    score = music21.converter.parse(ORCHESTRAL_NOCTURNE.path).toSoundingPitch()
    staves = {part.partName: part for part in score.parts}
    for player in whole.players:
        if player.harp:
            continue
        ours = [
            (float(event.onset), head.pitch.midi)
            for event, head in whole.part.notes()
            if event.staff == player.first
        ]
        theirs = [
            (float(note.getOffsetInHierarchy(score)), pitch.midi)
            for note in staves[player.name].recurse().notes
            for pitch in note.pitches
        ]
        assert sorted(ours) == sorted(theirs), player.name


def test_the_harp_keeps_its_notes_and_their_names(harp: HarpPart, whole: FullScore) -> None:
    """Ids of the harp's notes are the same, so that findings and plan still point to them."""
    own = {head.id: (event.onset, head.pitch) for event, head in harp.notes()}
    there = {head.id: (event.onset, head.pitch) for event, head in whole.part.notes()}

    assert own.items() <= there.items()
    ids = [head.id for _, head in whole.part.notes()]
    assert len(ids) == len(set(ids))


def test_signs_for_everyone_stand_once(harp: HarpPart, whole: FullScore) -> None:
    """Tempo and rehearsal marks are those that the harp's reader has found."""
    for kind in (DirectionKind.REHEARSAL, DirectionKind.TEMPO_WORDS, DirectionKind.METRONOME):
        counts = [sum(d.kind is kind for d in part.directions) for part in (harp, whole.part)]
        assert counts[0] == counts[1]


def test_a_cue_line_is_one_part_alone(harp: HarpPart) -> None:
    """The flute by name, and then the viola by number."""
    flute = read_full_score(ORCHESTRAL_NOCTURNE.path, harp, ["Flute"])
    viola = read_full_score(ORCHESTRAL_NOCTURNE.path, harp, ["9"])

    assert [player.name for player in flute.players] == ["Flute", "Harp"]
    assert [player.name for player in viola.players] == ["Harp", "Viola"]
    assert viola.harp.first == 1


def test_a_harp_alone_is_its_own_score() -> None:
    """A file with one part has nothing to add."""
    harp = read_part(EVENING_WATER.path)
    alone = read_full_score(EVENING_WATER.path, harp)

    assert [player.harp for player in alone.players] == [True]
    assert [head for _, head in alone.part.notes()] == [head for _, head in harp.notes()]


def test_a_cue_that_is_no_part_is_one_line(harp: HarpPart) -> None:
    """The line lists the parts; the harp is no cue to itself."""
    with pytest.raises(PartError, match="there is no part 'celesta'; the parts are 1 Flute"):
        read_full_score(ORCHESTRAL_NOCTURNE.path, harp, ["celesta"])
    with pytest.raises(PartError, match="part 'Harp' is the harp itself"):
        read_full_score(ORCHESTRAL_NOCTURNE.path, harp, ["Harp"])


def test_a_part_with_other_bars_is_left_out_and_told() -> None:
    """Parts can only stand above one another where their bars agree."""
    harp = build_part("C4/w", "D4/w")
    short = replace(
        build_part("C5/w"), part_name="Oboe", source=replace(harp.source, part_number=2)
    )
    score = joined(harp, [short])

    assert len(score.players) == 1
    assert [str(notice) for notice in score.part.warnings] == [
        "Oboe has other bars than the harp and is left out"
    ]


def test_an_open_key_stays_open(tmp_path: Path) -> None:
    """Horns without a signature get none at their sound either; one with a signature keeps it.

    The nocturne with the horn's signatures taken out, as many scores have it.
    """
    tree = etree.parse(ORCHESTRAL_NOCTURNE.path)
    root = tree.getroot()
    names = [part.findtext("part-name") for part in root.iter("score-part")]
    horn = root.findall("part")[names.index("Horn in F")]
    for fifths in horn.iter("fifths"):
        fifths.text = "0"
    path = tmp_path / "open.musicxml"
    tree.write(path)
    whole = read_full_score(path, read_part(path))
    keys = {
        player.name: [key.fifths for key in whole.part.keys if key.staff == player.first]
        for player in whole.players
    }
    assert set(keys["Horn in F"]) == {0}
    assert keys["Clarinet in B♭"] == keys["Flute"] != keys["Horn in F"]
