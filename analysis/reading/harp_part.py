"""The door: a score file in, a :class:`HarpPart` out."""

from __future__ import annotations

import gc
import os
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from pedalsetter.analysis.errors import PedalsetterError, ScoreError
from pedalsetter.analysis.naming.wording import likely
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.analysis.reading.container import is_zip, score_in_container
from pedalsetter.analysis.reading.foreign_formats import refuse_foreign
from pedalsetter.analysis.reading.limits import (
    DEFAULT_LIMITS,
    Limits,
    drop_namespace,
    local_name,
    parse_xml,
)
from pedalsetter.analysis.reading.musicxml import read_musicxml
from pedalsetter.analysis.reading.other_formats import read_other_format, text_format
from pedalsetter.analysis.reading.part_choice import may_be_chosen
from pedalsetter.analysis.reading.thinned import parse_thinned

__all__ = ["drop_namespace", "read_part", "read_score", "score_bytes"]


def read_part(
    path: str | os.PathLike[str], part: str | None = None, *, limits: Limits = DEFAULT_LIMITS
) -> HarpPart:
    """Read the harp part of a score: MusicXML (.musicxml, .xml, .mxl), MEI, kern, ABC or MIDI.

    The format is told by what the file holds, not by its name. ``part`` picks a part by name
    (capitals do not matter), by its number in the score from 1, or by its id; ``"3+4"`` joins two
    one-staff parts as upper and lower staff. Without it the harp is found.

    Raises:
        ScoreError: the file is missing, broken, too large or of another kind.
        PartError: the harp cannot be told, or no part is as asked.
    """
    data = score_bytes(path, limits)
    return read_score(data, Path(path).name, part, limits=limits)


def score_bytes(path: str | os.PathLike[str], limits: Limits = DEFAULT_LIMITS) -> bytes:
    """What a score file holds.

    Raises:
        ScoreError: the file is missing, cannot be read, or is too large.
    """
    try:
        with os.fdopen(os.open(path, _READING), "rb") as stream:
            kind = os.fstat(stream.fileno()).st_mode
            if stat.S_ISDIR(kind):
                raise _a_folder(path)
            if not stat.S_ISREG(kind):
                raise ScoreError("this is no ordinary file", file=str(path))
            # A file that grows while it is read is cut off here too.
            data = stream.read(limits.file_bytes + 1)
        if len(data) > limits.file_bytes:
            raise ScoreError(
                f"the file is larger than {limits.file_bytes // 2**20} MB", file=Path(path).name
            )
        return data
    except FileNotFoundError as error:
        raise ScoreError("there is no such file", file=str(path), mend=_likely(path)) from error
    except OSError as error:
        if Path(path).is_dir():
            # Windows opens no folder at all, and calls that a lack of permission.
            raise _a_folder(path) from error
        reason = (error.strerror or "it cannot be opened").lower()
        raise ScoreError(f"the file cannot be read: {reason}", file=str(path)) from error


def _likely(path: str | os.PathLike[str]) -> str | None:
    """The file of the folder that may have been meant."""
    wanted = Path(path)
    try:
        names = [each.name for each in wanted.parent.iterdir() if each.is_file()]
    except (OSError, ValueError):
        return None
    return likely(wanted.name, names) or None


def _a_folder(path: str | os.PathLike[str]) -> ScoreError:
    mend = "Name a score in it, or mark all of them with batch."
    return ScoreError("this is a folder, not a score", file=str(path), mend=mend)


_READING = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
"""A pipe that nobody writes into is opened too, instead of waited for."""


def read_score(
    data: bytes, file: str, part: str | None = None, *, limits: Limits = DEFAULT_LIMITS
) -> HarpPart:
    """Read a score from bytes, as :func:`read_part` does; ``file`` names it in messages."""
    # Bytes of a file's name that are no text could be written into no result.
    file = file.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    try:
        with _no_collection():
            return _read(data, file, part, limits)
    except PedalsetterError as error:
        raise error.in_file(file) from error.__cause__


@contextmanager
def _no_collection() -> Iterator[None]:
    """Keep the garbage collector from running while a score is read.

    Reading only builds; with every few hundred notes the collector would walk through all of them
    in vain, which doubles the time.
    """
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()


def _read(data: bytes, file: str, part: str | None, limits: Limits) -> HarpPart:
    if not data or data.isspace():
        raise ScoreError("the file is empty", file=file)
    if not _looks_like_xml(data):
        refuse_foreign(file)
    format_name = "musicxml"
    if is_zip(data):
        data = score_in_container(data, file, limits)
        format_name = "mxl"
    plain = _as_plain_text(data)
    if plain is None:
        return _read_score(data, format_name, file, part, limits)
    read = _read_score(plain, format_name, file, part, limits)
    notice = Notice("the file says that it is written in UTF-16 and is not; it is read as UTF-8")
    return replace(read, warnings=(notice, *read.warnings))


_UTF_16 = re.compile(
    rb"""(<\?xml[^>]{0,80}?encoding\s*=\s*)(["'])utf-?16(le|be)?\2""", re.IGNORECASE
)


def _as_plain_text(data: bytes) -> bytes | None:
    """The document under its true encoding, if it is plain text that says it is UTF-16."""
    start = data[:200]
    if b"\x00" in start or _UTF_16.search(start) is None:
        return None
    return _UTF_16.sub(rb"\1\2UTF-8\2", data, count=1)


def _read_score(
    data: bytes, format_name: str, file: str, part: str | None, limits: Limits
) -> HarpPart:
    if _looks_like_xml(data):
        is_mei = b"music-encoding.org" in data[:4096].replace(b"\x00", b"")
        if is_mei:
            root, thinned = parse_xml(data, file, limits, forgiving=True), None
        else:
            thinned = parse_thinned(data, file, limits, lambda heads: may_be_chosen(heads, part))
            root = thinned.root
        name = local_name(root)
        if name in ("score-partwise", "score-timewise"):
            return read_musicxml(root, file, format_name, part, limits=limits, thinned=thinned)
        if name in ("mei", "music", "meiCorpus"):
            return read_other_format(data, "mei", file, part, limits)
        if name == "opus":
            raise ScoreError(
                "the file is an opus, a list of scores",
                file=file,
                mend="Give one of the scores that it lists.",
            )
        raise ScoreError(f"'{name}' is no kind of score that can be read", file=file)
    if data[:4] == b"MThd":
        return read_other_format(data, "midi", file, part, limits)
    other = text_format(data)
    if other is None:
        raise ScoreError(
            "this is no kind of score that can be read",
            file=file,
            mend="Give MusicXML (.musicxml, .mxl), MEI, kern, ABC or MIDI.",
        )
    return read_other_format(data, other, file, part, limits)


def _looks_like_xml(data: bytes) -> bool:
    start = data[:64]
    for mark in (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff"):
        start = start.removeprefix(mark)
    # UTF-16 puts a zero beside each plain letter.
    return start.replace(b"\x00", b"").lstrip().startswith(b"<")
