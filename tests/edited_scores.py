"""Edits a MusicXML file as a composer would by hand: another note, or a note taken out.

A note is named by its place, ``P1-m12-n7``: measure and note counted from 1 in document order.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from lxml import etree

from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.pedal_plan import NoteEdit

__all__ = ["edit_file"]


def edit_file(score: Path, edits: Iterable[NoteEdit], target: Path) -> Path:
    """Write ``score`` with its notes edited to ``target``; what is tied to a note goes with it."""
    tree = etree.parse(score)
    # All notes are found first, so that taking one out does not rename the others.
    found = [(_find(tree, edit.note), edit.pitch) for edit in edits]
    for note, pitch in found:
        for tied in (note, *_tied_after(note)):
            _rewrite(tied, pitch) if pitch is not None else _take_out(tied)
    tree.write(target, xml_declaration=True, encoding="UTF-8")
    return target


def _find(tree: etree._ElementTree, name: str) -> etree._Element:
    part, measure, note = name.rsplit("-", 2)
    (element,) = (one for one in tree.getroot().iter("part") if one.get("id") == part)
    return element.findall("measure")[int(measure[1:]) - 1].findall("note")[int(note[1:]) - 1]


def _tied_after(note: etree._Element) -> list[etree._Element]:
    """The notes that continue this one by ties, in order."""
    following: list[etree._Element] = []
    part = next(one for one in note.iterancestors("part"))
    notes = list(part.iter("note"))
    while any(tie.get("type") == "start" for tie in note.findall("tie")):
        later = notes[notes.index(note) + 1 :]
        note = next(
            one
            for one in later
            if _sound(one) == _sound(note)
            and any(tie.get("type") == "stop" for tie in one.findall("tie"))
        )
        following.append(note)
    return following


def _sound(note: etree._Element) -> tuple[str | None, ...]:
    names = ("pitch/step", "pitch/alter", "pitch/octave", "staff", "voice")
    return tuple(note.findtext(name) for name in names)


def _rewrite(note: etree._Element, pitch: Pitch) -> None:
    element = note.find("pitch")
    assert element is not None
    element.clear()
    etree.SubElement(element, "step").text = pitch.letter.value
    if pitch.alter:
        etree.SubElement(element, "alter").text = str(pitch.alter)
    etree.SubElement(element, "octave").text = str(pitch.octave)
    for accidental in note.findall("accidental"):
        note.remove(accidental)


def _take_out(note: etree._Element) -> None:
    """Out of a chord a note goes without trace; alone it leaves a rest of its length."""
    follower = note.getnext()
    measure = note.getparent()
    assert measure is not None
    _untie_before(note)
    if note.find("chord") is not None:
        measure.remove(note)
    elif follower is not None and follower.find("chord") is not None:
        chord = follower.find("chord")
        assert chord is not None
        follower.remove(chord)
        measure.remove(note)
    else:
        for name in ("pitch", "tie", "accidental", "beam", "stem", "notehead", "notations"):
            for element in note.findall(name):
                note.remove(element)
        note.insert(0, etree.Element("rest"))


def _untie_before(note: etree._Element) -> None:
    """Where the continuation of a tie goes, the note before it is tied no longer."""
    if not any(tie.get("type") == "stop" for tie in note.findall("tie")):
        return
    part = next(one for one in note.iterancestors("part"))
    notes = list(part.iter("note"))
    for earlier in reversed(notes[: notes.index(note)]):
        starts = [tie for tie in earlier.findall("tie") if tie.get("type") == "start"]
        if starts and _sound(earlier) == _sound(note):
            for tie in starts:
                earlier.remove(tie)
            for tied in [one for one in earlier.iter("tied") if one.get("type") == "start"]:
                parent = tied.getparent()
                assert parent is not None
                parent.remove(tied)
            return
