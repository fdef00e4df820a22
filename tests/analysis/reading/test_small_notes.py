"""Small notes: played, or a cue that only guides the harp.

That a cue names its instrument, or stands where the player rests, is common practice, no source;
that ``<cue/>`` alone does not tell is what files of a widely used exporter show.
"""

from __future__ import annotations

import pytest
from score_snippets import TREBLE_AND_BASS, bars, full_score, move, note, opening, read, told, words

from pedalsetter.analysis.decisions.file import parse_decisions
from pedalsetter.analysis.decisions.small_notes import with_small_notes
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.reading import read_score

CUE = {"before": "<cue/>"}
FULL_REST = note('<rest measure="yes"/>', 4, voice=2)
PLAYED = "small notes that the source marks as cues are taken for notes to play"
SHOWN = "small notes are taken for a cue: shown, and not planned for"


def small(*names: str, **more: object) -> str:
    """Small quarters."""
    return "".join(note(name, 1, **CUE, **more) for name in names)  # type: ignore[arg-type]


def plain(*names: str, **more: object) -> str:
    """Ordinary quarters."""
    return "".join(note(name, 1, **more) for name in names)  # type: ignore[arg-type]


ORDINARY = plain("C4", "D4", "E4", "F4")
CASES = {
    "in its own voice": (small("C5", "D5") + plain("E5", "F5"), False),
    "a voice for itself, nothing beside it": (small("C5", "D5", "E5", "F5"), False),
    "beside rests of its staff": (small("C5", "D5", "E5", "F5") + move(-4) + FULL_REST, True),
    "an instrument is named": (
        words("Fl. I") + small("C5", "D5") + plain("E5", "F5"),
        True,
    ),
    "another reading beside the notes": (
        small("C6", "D6", "E6", "F6") + move(-4) + plain("C5", "D5", "E5", "F5", voice=2),
        True,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_is_decided_and_told(name: str) -> None:
    """One bar of small notes after two of ordinary ones."""
    content, is_cue = CASES[name]
    part = read(bars(ORDINARY, ORDINARY, content))
    found = [event for event in part.events if event.small and event.heads]
    assert found
    assert {event.cue for event in found} == {is_cue}
    assert told(part) == [f"bar 3, beat 1, staff 1: {SHOWN if is_cue else PLAYED}"]


def test_a_cue_while_the_whole_part_rests() -> None:
    """Small notes in one hand over a rest in the other, in a part that has notes elsewhere."""
    rest = note('<rest measure="yes"/>', 4, voice=5, staff=2)
    right = small("C5", "D5", "E5", "F5", staff=1)
    first = opening(staves=2, clefs=TREBLE_AND_BASS)
    own = plain("C4", "D4", "E4", "F4", staff=1) + move(-4) + plain(*["C3"] * 4, voice=5, staff=2)
    part = read(bars(own, own, right + move(-4) + rest, first=first))
    assert {event.cue for event in part.events if event.small} == {True}


def test_a_study_in_small_notes() -> None:
    """Where most of a part is printed small, small notes are its notes, also beside a rest."""
    rest = note('<rest measure="yes"/>', 4, voice=5, staff=2)
    right = small("C5", "D5", "E5", "F5", staff=1)
    first = opening(staves=2, clefs=TREBLE_AND_BASS)
    part = read(bars(*[right + move(-4) + rest] * 3, first=first))
    assert not any(event.cue for event in part.events)
    assert told(part) == [f"bar 1, beat 1, staff 1: {PLAYED}"]


def test_a_part_of_the_score_is_named() -> None:
    """The words are the name of another part, whatever that is."""
    harp = bars(ORDINARY, words("Aeoline") + small("C5", "D5") + plain("E5", "F5"))
    other = bars(ORDINARY, ORDINARY)
    data = full_score([("P1", "Aeoline", other), ("P2", "Harp", harp)])
    part = read_score(data, "snippet.musicxml")
    assert {event.cue for event in part.events if event.small} == {True}


def cues(part: HarpPart) -> list[str]:
    """Bars with cues."""
    return [part.printed_bar(event.bar) for event in part.events if event.cue and event.heads]


def test_the_musician_decides() -> None:
    """The file of decisions goes before what was decided here, and what it cannot mean is told."""
    named = words("Fl.") + small("C5") + plain("D5", "E5", "F5")
    part = read(bars(ORDINARY, named, small("C5") + plain("D5", "E5", "F5")))
    assert cues(part) == ["2"]
    text = """
        small-notes = [
            { bars = "2" },
            { bars = "2-3", sounds = false },
            { bars = "1", staff = "upper" },
            { bars = "9" },
        ]
    """
    decided, results = with_small_notes(part, parse_decisions(text))
    assert cues(decided) == ["3"]
    assert [(result.told, result.refused) for result in results] == [
        ("small notes in bar 2 are played", ""),
        ("small notes in bars 2 to 3 are a cue", ""),
        ("small notes in bar 1, upper staff are played", "no small notes stand there"),
        ("small notes in bar 9 are played", "there is no bar 9"),
    ]
