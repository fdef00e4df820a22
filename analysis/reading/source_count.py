"""Bars and notes of a file that a library reads for us, counted in the file itself.

What a library does not know it may leave out in silence. So what came of the file is counted and
compared with what its own text holds: a bar that is missing is an error, a note a notice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lxml import etree

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.naming.wording import bars_told
from pedalsetter.analysis.part import Notice
from pedalsetter.analysis.reading.midi_length import midi_size

__all__ = [
    "SourceCount",
    "count_of_abc",
    "count_of_kern",
    "count_of_mei",
    "count_of_midi",
    "what_is_lost",
]

_MEI = "{http://www.music-encoding.org/ns/mei}"

_NOT_READ = frozenset(f"{_MEI}{name}" for name in ("rdg", "ossia", "orig", "sic", "del"))
"""Readings of an edition beside the chosen one."""


_WHOLE = "Look whether it is the whole file."
_EXPORT = "Export the score as MusicXML and give that."

_BARLINE = r"[|:]+\]?|\[\|"


@dataclass(frozen=True, slots=True)
class SourceCount:
    """What a file holds by its own text."""

    bars: int
    """At least; 0 where the format does not tell."""
    notes: tuple[int, ...]
    """All notes, bar by bar, or one number for all of the file."""
    rests: int = 0
    """Of any length; 0 where they were not counted."""
    is_open: bool = False
    """Whether it does not end as its format wants."""


def count_of_mei(root: etree._Element) -> SourceCount:
    """Measures and notes of the chosen readings."""
    notes = [
        sum(1 for _ in _chosen(measure, "note"))
        for measure in _chosen(root, "measure")
        if measure.getparent() is not None
    ]
    rests = sum(1 for name in ("rest", "mRest", "multiRest", "space") for _ in _chosen(root, name))
    return SourceCount(len(notes), tuple(notes), rests)


def _chosen(root: etree._Element, name: str) -> Iterator[etree._Element]:
    for element in root.iter(f"{_MEI}{name}"):
        if not any(above.tag in _NOT_READ for above in element.iterancestors()):
            yield element


def count_of_kern(text: str) -> SourceCount:
    """Numbered bars with notes, and notes of all ``**kern`` spines.

    Source: the Humdrum user guide, spine paths and the kern representation.
    """
    spines: list[str] = []
    numbered: set[str] = set()
    number = ""
    notes = rests = 0
    for line in text.splitlines():
        if not line or line.startswith("!"):
            continue
        tokens = line.split("\t")
        if line.startswith("*"):
            spines = _paths(spines, tokens)
        elif line.startswith("="):
            found = re.match(r"=+(\d+)", line)
            number = found[1] if found else number
        else:
            for kind, token in zip(spines, tokens, strict=False):
                if kind == "**kern" and token != ".":  # noqa: S105
                    parts = token.split(" ")
                    notes += sum(bool(re.search(r"[A-Ga-g]", part)) for part in parts)
                    rests += sum("r" in part for part in parts)
                    numbered.add(number)
    return SourceCount(len(numbered - {""}), (notes,), rests, is_open=bool(spines))


def _paths(spines: Sequence[str], tokens: Sequence[str]) -> list[str]:
    """The kinds of the spines after a line of interpretations."""
    if not spines or all(token.startswith("**") for token in tokens):
        return list(tokens)
    after: list[str] = []
    joining = False
    for kind, token in zip(spines, tokens, strict=False):
        if token == "*v":  # noqa: S105 - a sign of kern
            if not joining:
                after.append(kind)
            joining = True
            continue
        joining = False
        if token == "*^":  # noqa: S105
            after += [kind, kind]
        elif token.startswith("**"):
            after.append(token)
        elif token != "*-":  # noqa: S105
            after.append(kind)
    return after


def count_of_abc(text: str) -> SourceCount:
    """Notes, and bars where one voice has them all. Source: the ABC standard 2.1."""
    notes = rests = 0
    tunes = ""
    in_text = has_voices = False
    for line in text.splitlines():
        if line.startswith("%%begin"):
            in_text = True
        elif line.startswith("%%end"):
            in_text = False
        has_voices = has_voices or line.lstrip().startswith("V:") or "[V:" in line
        if in_text or re.match(r"\s*[A-Za-z+]:", line):
            continue
        music = re.sub(r'"[^"]*"|![^!]*!|\+[^+ ]*\+|\[[A-Za-z]:[^\]]*\]|%.*', "", line)
        notes += len(re.findall(r"[A-Ga-g]", music))
        rests += len(re.findall(r"[xzXZ]", music))
        tunes += f"{music} "
    # a bar may go on in the next line
    bars = sum(bool(re.search(r"[A-Ga-gxzXZ]", bar)) for bar in re.split(_BARLINE, tunes))
    return SourceCount(0 if has_voices else bars, (notes,), rests)


def count_of_midi(data: bytes) -> SourceCount:
    """Beginnings of notes; drums, which no harp plays, count as well. Bars follow from them."""
    return SourceCount(0, (midi_size(data).all_notes,))


def what_is_lost(
    count: SourceCount, root: etree._Element, format_name: str, file: str
) -> tuple[Notice, ...]:
    """Compare with the MusicXML that was made of the file, and tell what it lacks.

    Raises:
        ScoreError: the file holds no music, or bars or all notes of it are lost.
    """
    parts = root.findall("part")
    bars = max((len(part.findall("measure")) for part in parts), default=0)
    notes = [0] * bars
    for part in parts:
        for index, measure in enumerate(part.iterfind("measure")):
            notes[index] += sum(_begins(note, format_name) for note in measure.iterfind("note"))
    wanted, found = sum(count.notes), sum(notes)
    if not wanted and not count.rests:
        raise ScoreError("the file holds no notes", file=file, mend=_WHOLE)
    if wanted and not found:
        raise ScoreError("none of its notes can be understood", file=file, mend=_WHOLE)
    if bars < count.bars:
        what = f"only {bars} of its {count.bars} bars can be understood"
        raise ScoreError(what, file=file, mend=_EXPORT)
    opened = (Notice("the end of the file is missing: it may be cut off"),) if count.is_open else ()
    if found >= wanted:
        return opened
    where = ""
    if len(count.notes) == bars > 1:
        measures = parts[0].findall("measure")
        pairs = zip(measures, notes, count.notes, strict=True)
        lacking = [measure.get("number", "?") for measure, here, all_ in pairs if here < all_]
        where = f", in {bars_told(lacking)}" if lacking else ""
    lost = wanted - found
    return (
        *opened,
        Notice(f"{lost} of the {wanted} notes of the file could not be read{where}"),
    )


def _begins(note: etree._Element, format_name: str) -> bool:
    """Whether it is a note of the source: in MIDI, what a tie goes on is none."""
    is_tied_on = format_name == "midi" and note.find("tie[@type='stop']") is not None
    return note.find("rest") is None and not is_tied_on
