"""Writing files whole or not at all, and never over the score they came from."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from pedalsetter.analysis.errors import OutputError

__all__ = ["write_files"]


def write_files(folder: Path, files: Mapping[str, bytes], source: Path) -> tuple[Path, ...]:
    """Write ``files`` (name to content) into ``folder``, creating it; return their paths.

    Every file is first written beside its final place and renamed when all are whole, so an
    interrupted run leaves the old files as they were.

    Raises:
        OutputError: a file would overwrite ``source``, or the folder cannot be written.
    """
    targets = {folder / name: content for name, content in files.items()}
    for target in targets:
        if _same_file(target, source):
            raise OutputError(
                f"writing {target.name} would overwrite the score itself",
                file=source.name,
                mend="Choose another folder with -o.",
            )
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
        reason = error.strerror or str(error)
        raise OutputError(
            f"cannot write into {folder}: {reason}", mend="Choose another folder with -o."
        ) from error
    finally:
        for beside, _ in waiting:
            with contextlib.suppress(OSError):
                Path(beside).unlink()
    return tuple(targets)


def _same_file(target: Path, source: Path) -> bool:
    try:
        return target.samefile(source)
    except OSError:
        return False
