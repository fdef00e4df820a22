"""Reads example scores bar by bar with lxml, for checks that trust no other reader."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import product

from example_scores import Example
from lxml import etree

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.instrument.respelling import Pitch, strings_for

__all__ = ["bar_lengths", "can_be_set", "harp_of", "pitch_of", "struck", "text", "timed_notes"]


def text(element: etree._Element, path: str) -> str:
    """The text found at a path; empty if nothing stands there."""
    return (element.findtext(path) or "").strip()


def pitch_of(note: etree._Element) -> Pitch:
    """The written pitch of a note that is no rest."""
    alter = int(text(note, "pitch/alter") or 0)
    return Pitch(Letter(text(note, "pitch/step")), alter, int(text(note, "pitch/octave")))


def bar_lengths(part: etree._Element) -> Iterator[tuple[etree._Element, Fraction]]:
    """Each bar with its full length in quarters after the time signature in force."""
    length = Fraction(0)
    for measure in part.iter("measure"):
        time = measure.find("attributes/time")
        if time is not None:
            length = Fraction(4 * int(text(time, "beats")), int(text(time, "beat-type")))
        yield measure, length


def timed_notes(part: etree._Element) -> Iterator[tuple[str, Fraction, Fraction, etree._Element]]:
    """(bar number, offset and length in quarters, note) for all notes, rests and graces."""
    divisions = 1
    for measure in part.iter("measure"):
        now = onset = Fraction(0)
        for element in measure:
            if element.tag == "attributes" and element.find("divisions") is not None:
                divisions = int(text(element, "divisions"))
            length = Fraction(int(text(element, "duration") or 0), divisions)
            if element.tag == "backup":
                now -= length
            elif element.tag == "forward":
                now += length
            elif element.tag == "note":
                if element.find("chord") is None:
                    onset = now
                    now += length
                yield measure.get("number", ""), onset, length, element


def harp_of(example: Example) -> etree._Element:
    """The harp part of an example."""
    (part,) = (p for p in example.root().iter("part") if p.get("id") == example.harp_id)
    return part


def struck(example: Example) -> dict[tuple[int, Fraction], list[etree._Element]]:
    """Notes of the harp that are struck, graces and tied continuations left out, by place."""
    found: dict[tuple[int, Fraction], list[etree._Element]] = {}
    for number, onset, length, note in timed_notes(harp_of(example)):
        held = any(tie.get("type") == "stop" for tie in note.iter("tie"))
        if note.find("pitch") is not None and length and not held:
            found.setdefault((int(number), onset), []).append(note)
    return found


def can_be_set(pitches: list[Pitch]) -> bool:
    """Whether some choice of strings asks no letter for two positions."""
    for choice in product(*map(strings_for, pitches)):
        if len({s.letter for s in choice}) == len({(s.letter, s.position) for s in choice}):
            return True
    return False
