"""The journal of a run: one line of JSON for each score that has ended, kept on the disk.

The first line says what was wanted. Each line is written whole, in one piece, and brought to the
disk before the next score is told of; should the run be killed in the middle of one, the torn line
at the end is cut off when the run is gone on with. Lines stand in the order in which scores ended,
so the order differs from run to run; the summary is sorted.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pedalsetter.analysis.errors import BatchError, OutputError
from pedalsetter.engrave.batch.record import Ended, Record
from pedalsetter.engrave.batch.task import Treatment

__all__ = ["JOURNAL", "Journal"]

JOURNAL = "journal.jsonl"
"""Its name in the output folder."""

_FORMAT = {"format": "pedalsetter journal", "version": 1}


class Journal:
    """The journal in an output folder, open for writing; close it at the end.

    Raises:
        BatchError: there is one and ``resume`` is false, or it tells of another treatment.
        OutputError: it cannot be read or written.
    """

    def __init__(self, out: Path, treatment: Treatment, *, resume: bool) -> None:
        self.path = out / JOURNAL
        self.records: dict[str, Record] = {}
        """The latest record of each score by its name."""
        self.summary: str | None = None
        """SHA-256 of the summary as an earlier run wrote it."""
        described = treatment.described()
        try:
            flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
            self._handle = os.open(self.path, flags, 0o666)
            try:
                content = self.path.read_bytes()
                whole = content[: content.rfind(b"\n") + 1]
                if whole and not resume:
                    raise BatchError(
                        f"{out} holds the journal of an earlier run",
                        mend="Go on with it by --resume, or choose another folder with -o.",
                    )
                if len(whole) < len(content):
                    os.ftruncate(self._handle, len(whole))
                if whole:
                    self._take_up(whole.splitlines(), described, out)
                else:
                    self._append({**_FORMAT, "treatment": described})
            except BaseException:
                os.close(self._handle)
                raise
        except OSError as error:
            raise _unwritable(self.path, error) from error

    def write(self, ended: Ended) -> None:
        """Write down how a score ended.

        Raises:
            OutputError: the disk is full or gone.
        """
        try:
            self._append(ended.as_data())
        except OSError as error:
            raise _unwritable(self.path, error) from error
        self.records[ended.record.score] = ended.record

    def write_summary(self, digest: str) -> None:
        """Write down the SHA-256 of the summary, before it is written.

        Raises:
            OutputError: the disk is full or gone.
        """
        try:
            self._append({"summary": digest})
        except OSError as error:
            raise _unwritable(self.path, error) from error

    def close(self) -> None:
        """Close the file; every line is on the disk already."""
        os.close(self._handle)

    def _take_up(self, lines: list[bytes], described: Mapping[str, Any], out: Path) -> None:
        head = _data(lines[0])
        if head is None or any(head.get(key) != value for key, value in _FORMAT.items()):
            raise BatchError(f"{self.path} is no journal that this version can go on with")
        before = head.get("treatment")
        if before != described:
            other = _differences(before if isinstance(before, dict) else {}, described)
            raise BatchError(
                f"the earlier run in {out} was made with other options: {other}",
                mend="Give the same ones, or choose another folder with -o.",
            )
        for line in lines[1:]:
            data = _data(line)
            # A line that a failing disk has damaged is as if it were not there: the results tell
            # for themselves whose they are.
            if data is not None and isinstance(data.get("summary"), str):
                self.summary = data["summary"]
            elif data is not None:
                try:
                    record = Record.from_data(data)
                except ValueError:
                    continue
                self.records[record.score] = record

    def _append(self, data: Mapping[str, Any]) -> None:
        # Names of files may hold bytes that are no text; only ASCII can carry them.
        line = json.dumps(data).encode("ascii") + b"\n"
        while line:
            line = line[os.write(self._handle, line) :]
        os.fsync(self._handle)


def _data(line: bytes) -> dict[str, Any] | None:
    try:
        data = json.loads(line)
    except ValueError:
        return None
    return data if isinstance(data, dict) else None


def _differences(before: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """Each option that differs, by its own name also where it stands among others."""
    before, now = _flat(before), _flat(now)
    return ", ".join(
        f"{key.replace('_', '-')} was {_told(before.get(key))}, is {_told(now.get(key))}"
        for key in sorted({*before, *now})
        if before.get(key) != now.get(key)
    )


def _flat(described: Mapping[str, Any]) -> dict[str, Any]:
    inner = described.get("wanted")
    flat = {key: value for key, value in described.items() if key != "wanted"}
    return {**flat, **(inner if isinstance(inner, dict) else {})}


def _told(value: object) -> str:
    if isinstance(value, list):
        return " and ".join(map(str, value)) or "none"
    return {None: "not given", True: "yes", False: "no"}.get(value, str(value))  # type: ignore[call-overload, no-any-return]


def _unwritable(path: Path, error: OSError) -> OutputError:
    return OutputError(
        f"the journal {path} cannot be written: {error.strerror or error}",
        mend="Make room or choose another folder, and go on with --resume.",
    )
