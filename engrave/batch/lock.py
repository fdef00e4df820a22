"""One run at a time in an output folder.

The lock lies on an open file, and every desk holds that file open too: after a run was killed, the
next one begins when the last process of the first has gone. (On Windows the lock goes with the
process that took it; a desk that is left over finishes its score, which harms nothing.)
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pedalsetter.analysis.errors import BatchError, OutputError

__all__ = ["LOCK", "only_run"]

LOCK = ".lock"
"""Its name in the output folder."""


@contextmanager
def only_run(out: Path, patience_seconds: float = 20.0) -> Iterator[int]:
    """Hold the output folder, creating it; gives the handle that desks are to keep.

    Raises:
        BatchError: another run holds it.
        OutputError: the folder cannot be written.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
        handle = os.open(out / LOCK, os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as error:
        raise OutputError(
            f"cannot write into {out}: {error.strerror or error}",
            mend="Choose another folder with -o.",
        ) from error
    try:
        until = time.monotonic() + patience_seconds
        while not _taken(handle):
            if time.monotonic() > until:
                raise BatchError(
                    f"another run is at work in {out}",
                    mend="Wait for its end, or choose another folder with -o.",
                )
            time.sleep(0.1)
        yield handle
    finally:
        os.close(handle)


def _taken(handle: int) -> bool:
    """Take the lock if it is free; where a disk knows no locks there is none to take."""
    if sys.platform == "win32":
        return _taken_on_windows(handle)
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return True
    return True


def _taken_on_windows(handle: int) -> bool:
    import errno
    import msvcrt

    try:
        # The first byte; there need be none.
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
    except OSError as error:
        return error.errno not in (errno.EACCES, errno.EDEADLK)
    return True
