"""Writing files whole or not at all, and never over the score or another file of the user's."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from pedalsetter.analysis.errors import OutputError
from pedalsetter.analysis.naming.wording import listed
from pedalsetter.engrave.output.own_results import is_ours, is_untouched, stamped

__all__ = ["check_place", "write_files"]

_ROOM = 1 << 20
"""Bytes that a folder must have room for before work begins."""


def check_place(
    folder: Path, could_be: re.Pattern[str], source: Path | None = None, *, force: bool = False
) -> None:
    """Refuse, before any work, what :func:`write_files` would refuse at its end.

    ``could_be`` matches the whole names of all files that may be written. The folder need not be
    there yet, and is not made.

    Raises:
        OutputError: a file would overwrite ``source``, or one that is not ours or was edited, if
            not with ``force``; or the folder cannot be written, or is full.
    """
    try:
        names = [each.name for each in folder.iterdir()] if folder.exists() else []
        _check(folder, [name for name in names if could_be.fullmatch(name)], source, force=force)
        nearest = folder
        while not nearest.exists() and nearest != nearest.parent:
            nearest = nearest.parent
        with tempfile.TemporaryFile(dir=nearest) as room:
            room.write(bytes(_ROOM))
    except OSError as error:
        raise _unwritable(folder, error) from error


def write_files(
    folder: Path, files: Mapping[str, bytes], source: Path | None, *, force: bool = False
) -> tuple[Path, ...]:
    """Write ``files`` (name to content) into ``folder``, creating it; return their paths.

    Every file gets the mark by which it is known again. It is first written beside its final place
    and renamed when all are whole, so an interrupted run leaves the old files as they were.

    Raises:
        OutputError: a file would overwrite ``source``, or one that is not ours or was edited since
            we wrote it, if not with ``force``; or the folder cannot be written.
    """
    _check(folder, files, source, force=force)
    targets = {folder / name: stamped(name, content) for name, content in files.items()}
    waiting: list[tuple[str, Path]] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for target, content in targets.items():
            handle, beside = tempfile.mkstemp(prefix=f".{target.name}.", dir=folder)
            waiting.append((beside, target))
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
        umask = os.umask(0)
        os.umask(umask)
        for beside, target in waiting:
            # mkstemp makes files for their owner alone; results are ordinary files.
            Path(beside).chmod(0o666 & ~umask)
            Path(beside).replace(target)
    except OSError as error:
        raise _unwritable(folder, error) from error
    finally:
        for beside, _ in waiting:
            with contextlib.suppress(OSError):
                Path(beside).unlink()
    return tuple(targets)


def _check(folder: Path, names: Iterable[str], source: Path | None, *, force: bool) -> None:
    """Refuse names whose files must not be replaced."""
    foreign: list[str] = []
    edited: list[str] = []
    for name in sorted(names):
        target = folder / name
        if source is not None and _same_file(target, source):
            raise OutputError(
                f"writing {name} would overwrite the score itself",
                file=source.name,
                mend="Choose another folder with -o.",
            )
        if force or not os.path.lexists(target):
            continue
        try:
            content = target.read_bytes()
        except OSError:
            foreign.append(name)
            continue
        if not is_untouched(name, content):
            (edited if is_ours(name, content) else foreign).append(name)
    for found, one, several in (
        (foreign, "is there already and was not made", "are there already and were not made"),
        (edited, "was edited since it was made", "were edited since they were made"),
    ):
        if found:
            raise OutputError(
                f"{listed(found)} {one if len(found) == 1 else several} by Pedalsetter",
                file=None if folder == Path() else str(folder),
                mend="Choose another place with -o, or give --force to replace "
                f"{'it' if len(found) == 1 else 'them'}.",
            )


def _unwritable(folder: Path, error: OSError) -> OutputError:
    reason = error.strerror or str(error)
    return OutputError(
        f"cannot write into {folder}: {reason}", mend="Choose another folder with -o."
    )


def _same_file(target: Path, source: Path) -> bool:
    try:
        return target.samefile(source)
    except OSError:
        return False
