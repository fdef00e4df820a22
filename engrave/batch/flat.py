"""All pages and marked copies of a catalogue in one folder, to be sent or printed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path, PurePosixPath

from pedalsetter.engrave.batch.record import Outcome, Record
from pedalsetter.engrave.output.files import write_files

__all__ = ["FLAT", "gather"]

FLAT = "all"
"""The folder's name below the output folder."""


def gather(out: Path, records: Sequence[Record], *, force: bool = False) -> Path:
    """Copy every PDF and every marked copy into one folder, named after the scores' places.

    ``a/x.xml`` becomes ``a-x.pdf``; where two would have one name, each keeps its suffix.

    Raises:
        OutputError: a file there is not ours or was edited, if not with ``force``.
    """
    done = [record for record in records if record.outcome is Outcome.DONE and record.folder]
    stems = {record.score: _flat(PurePosixPath(record.score).with_suffix("")) for record in done}
    number = Counter(stem.casefold() for stem in stems.values())
    files: dict[str, bytes] = {}
    for record in done:
        stem = stems[record.score]
        if number[stem.casefold()] > 1:
            stem = _flat(PurePosixPath(str(record.folder)))
        own = PurePosixPath(record.score).stem
        for name in record.files:
            if name.endswith(".pdf") or name.startswith(f"{own}-pedals."):
                content = (out / str(record.folder) / name).read_bytes()
                files[f"{stem}{name.removeprefix(own)}"] = content
    write_files(out / FLAT, files, None, force=force)
    return out / FLAT


def _flat(path: PurePosixPath) -> str:
    return "-".join(path.parts)
