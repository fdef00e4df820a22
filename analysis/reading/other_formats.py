"""MEI, Humdrum kern, ABC and MIDI: through music21 to MusicXML in memory, then as any score.

One reader with one set of rules serves all formats. music21 (with converter21, which reads MEI,
kern and ABC more fully: bars, repeats, several voices) is
imported only here and only when such a file is read: importing it takes as long as reading a
symphony.
"""

from __future__ import annotations

import io
import re
import tempfile
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, redirect_stderr
from dataclasses import replace
from pathlib import Path
from typing import Any

from lxml import etree

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.analysis.reading.limits import Limits, parse_xml
from pedalsetter.analysis.reading.mei_signs import add_mei_signs
from pedalsetter.analysis.reading.midi_length import midi_size
from pedalsetter.analysis.reading.midi_notation import on_two_staves, spell_by_key
from pedalsetter.analysis.reading.musicxml import read_musicxml
from pedalsetter.analysis.reading.source_count import (
    SourceCount,
    count_of_abc,
    count_of_kern,
    count_of_mei,
    count_of_midi,
    what_is_lost,
)

__all__ = ["read_other_format", "text_format"]

_NAMES: Mapping[str, str] = {"mei": "MEI", "kern": "Humdrum", "abc": "ABC", "midi": "MIDI"}

_SUFFIX: Mapping[str, str] = {"mei": ".mei", "kern": ".krn", "abc": ".abc", "midi": ".mid"}


def text_format(data: bytes) -> str | None:
    """``kern`` or ``abc`` if the text looks like one, else None."""
    head = data[:65536].decode("utf-8", errors="replace").lstrip("\ufeff")
    lines = [line.rstrip() for line in head.splitlines()]
    if any(re.match(r"\*\*(kern|mens|recip|\w+)", line) for line in lines):
        return "kern"
    if any(re.match(r"X:\s*\d+", line) for line in lines) or (
        any(line.startswith("K:") for line in lines) and any("|" in line for line in lines)
    ):
        return "abc"
    return None


def read_other_format(
    data: bytes, format_name: str, file: str, part: str | None, limits: Limits
) -> HarpPart:
    """Read MEI, kern, ABC or MIDI bytes.

    Raises:
        ScoreError: music21 cannot read them, or they are too long.
        PartError: the harp cannot be told.
    """
    if format_name == "midi":
        _refuse_large_midi(data, file, limits)
    elif format_name == "abc" and _rest_bars(data) > limits.music21_bars:
        raise ScoreError(f"the tune rests for more than {limits.music21_bars:,} bars", file=file)
    count = _count(data, format_name, file, limits)
    score = _parsed(data, format_name, file)
    if format_name == "midi":
        score = on_two_staves(score)
    else:
        _forget_guessed_speeds(score)
    root = parse_xml(_as_musicxml(score, format_name, file), file, limits)
    notices = (*_of_version(data, format_name), *what_is_lost(count, root, format_name, file))
    _name_parts_by_place(root)
    _forget_placeholders(root)
    if format_name == "mei":
        add_mei_signs(parse_xml(data, file, limits, forgiving=True), root)
    elif format_name == "midi":
        spell_by_key(root)
    read = read_musicxml(
        root, file, format_name, part, spelling_guessed=format_name == "midi", limits=limits
    )
    return replace(read, warnings=(*notices, *read.warnings)) if notices else read


def _count(data: bytes, format_name: str, file: str, limits: Limits) -> SourceCount:
    if format_name == "mei":
        return count_of_mei(parse_xml(data, file, limits, forgiving=True))
    if format_name == "midi":
        return count_of_midi(data)
    return count_of_kern(_text(data)) if format_name == "kern" else count_of_abc(_text(data))


def _refuse_large_midi(data: bytes, file: str, limits: Limits) -> None:
    size = midi_size(data)
    if size.is_cut:
        raise ScoreError(
            "the MIDI file ends in the middle of a track",
            file=file,
            mend="Look whether it is the whole file.",
        )
    if size.bars > limits.music21_bars:
        what = f"more than {limits.music21_bars:,} bars, too many for MIDI"
    elif size.bars * size.tracks > 10 * limits.music21_bars:
        what = f"{size.tracks:,} tracks of {size.bars:,} bars, too many for MIDI"
    elif size.notes > limits.music21_notes:
        what = f"more than {limits.music21_notes:,} notes in one track, too many for MIDI"
    else:
        return
    raise ScoreError(
        f"the file holds {what}",
        file=file,
        mend="Give it in movements, or export the score as MusicXML.",
    )


def _rest_bars(data: bytes) -> int:
    """Bars of rest in an ABC file. Source: ABC 2.1, 4.5: ``Z4`` and ``X4`` rest for four."""
    bars = 0
    for line in _text(data).splitlines():
        if not re.match(r"\s*[A-Za-z+]:", line):
            music = re.sub(r'"[^"]*"|%.*', "", line)
            bars += sum(int(figures[:9]) for figures in re.findall(r"[ZX](\d+)", music))
    return bars


def _parsed(data: bytes, format_name: str, file: str) -> Any:
    import music21

    score = _by_converter21(data, format_name) if format_name != "midi" else None
    if score is None:
        # A file of our own name, since music21 tells formats by suffix; it keeps no copy of it.
        with tempfile.TemporaryDirectory() as folder, _quietly():
            path = Path(folder) / f"score{_SUFFIX[format_name]}"
            path.write_bytes(data)
            try:
                score = music21.converter.parse(path, forceSource=True, storePickle=False)
            except Exception as error:
                raise _unreadable(format_name, file) from error
    if isinstance(score, music21.stream.Opus):
        scores = list(score.scores)
        if len(scores) != 1:
            raise ScoreError(
                f"the file holds {len(scores)} pieces",
                file=file,
                mend="Give each piece a file of its own.",
            )
        score = scores[0]
    return score


@contextmanager
def _quietly() -> Iterator[None]:
    """Neither warnings nor lines on stderr from the libraries: what we say, we say in notices."""
    with warnings.catch_warnings(), redirect_stderr(io.StringIO()):
        warnings.simplefilter("ignore")
        yield


def _by_converter21(data: bytes, format_name: str) -> Any:
    """What converter21 makes of MEI 4 or 5, kern or ABC; None where it gives up.

    Its readers are called directly and not registered, so that music21 stays as it is for whoever
    else uses it in this process.
    """
    import converter21
    from music21.metadata import Metadata

    if not hasattr(Metadata, "_convertValue"):
        # converter21 4.0 calls by this name what music21 10 made public.
        Metadata._convertValue = staticmethod(Metadata.convertValue)
    readers = {
        "mei": converter21.MEIConverter,
        "kern": converter21.HumdrumConverter,
        "abc": converter21.ABCConverter,
    }
    reader = readers[format_name]()
    text = _text(data)
    if format_name == "mei":
        text = _VERSION.sub(_as_known, text, count=1)
    with _quietly():
        try:
            reader.parseData(text)
        except Exception:
            # Older MEI (2013, 3.0) is read by music21 alone, which tells its own errors.
            return None
    return reader.stream


_VERSION = re.compile(
    r"""(<(?:\w+:)?mei(?:Corpus)?\b[^>]*?\bmeiversion\s*=\s*)(["'])\s*(\d+)([^"']*)\2"""
)

_NEWEST = 5
"""Versions of MEI beyond this one are read as if they were this one."""

_A_YEAR = 1900
"""Old versions are years."""


def _as_known(found: re.Match[str]) -> str:
    number, rest = found[3], found[4]
    if _NEWEST < int(number[:6]) < _A_YEAR:
        number, rest = str(_NEWEST), ".1"
    return f"{found[1]}{found[2]}{number}{rest}{found[2]}"


def _of_version(data: bytes, format_name: str) -> tuple[Notice, ...]:
    """Tells of an MEI file that is newer than what is known here."""
    found = _VERSION.search(_text(data)) if format_name == "mei" else None
    if found is None or _as_known(found) == found[0]:
        return ()
    version = f"{found[3]}{found[4]}"
    return (
        Notice(
            f"the file says MEI {version}, which is newer than what is known here: it is read as "
            f"MEI {_NEWEST}"
        ),
    )


def _text(data: bytes) -> str:
    """The file as text: by its byte-order mark, else UTF-8, else the old western encoding."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        if b"\x00" in data:
            return data.decode("utf-16", errors="replace")
        data = data[2:]
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _forget_guessed_speeds(score: Any) -> None:
    """music21 gives *Andante* a speed of its own; only a figure of the source is one here."""
    from music21.tempo import MetronomeMark, TempoText

    for mark in list(score.recurse().getElementsByClass(MetronomeMark)):
        if mark.numberImplicit and mark.text:
            mark.activeSite.replace(mark, TempoText(mark.text))


def _as_musicxml(score: Any, format_name: str, file: str) -> bytes:
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    # A score that has its bars is exported as it is: to make notation anew would fill a pickup
    # with rests. What has none (MIDI), or cannot be exported so, is given bars, beams and ties.
    ways = (True,) if format_name == "midi" else (False, True)
    for makes_notation in ways:
        with _quietly():
            exporter = GeneralObjectExporter(score)
            exporter.makeNotation = makes_notation
            try:
                exported: bytes = exporter.parse()
            except Exception as error:
                failure = error
                continue
        return exported
    raise _unreadable(format_name, file) from failure


def _unreadable(format_name: str, file: str) -> ScoreError:
    return ScoreError(
        f"the {_NAMES[format_name]} file cannot be understood",
        file=file,
        mend="Export the score as MusicXML and give that.",
    )


def _name_parts_by_place(root: etree._Element) -> None:
    """music21 invents part names anew each time; a place in the score is stable."""
    names = {}
    for number, head in enumerate(root.iterfind("part-list/score-part"), 1):
        names[head.get("id")] = f"P{number}"
        head.set("id", f"P{number}")
    for part in root.iterfind("part"):
        part.set("id", names.get(part.get("id"), part.get("id", "")))


def _forget_placeholders(root: etree._Element) -> None:
    """Remove the title and composer that music21 writes where a source has none."""
    for element in list(root.iter("movement-title", "work-title", "creator")):
        if (element.text or "").strip() in ("Music21 Fragment", "Music21"):
            parent = element.getparent()
            if parent is not None:
                parent.remove(element)
