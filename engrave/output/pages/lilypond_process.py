"""LilyPond as a process: in a private folder, without the user's environment, within limits.

The engraver is another program reading text that came from outside, so it gets an environment of
its own and limits of time, memory and file size. It ends with the process that started it, however
that one ends: on Linux the system sees to it even after ``kill -9``. Elsewhere an engraver whose
process was killed goes on until its page is done or, but for Windows, until its limit of processor
time is reached.
"""

from __future__ import annotations

import ctypes
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.engrave.output.pages.lilypond_program import HOW_TO_GET

__all__ = ["LOG", "Limits", "end", "ended", "start"]

LOG = "part.log"
"""Where in its folder the engraver's messages are written."""

_SET_DEATH_SIGNAL = 1
"""Of Linux's ``prctl``."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What one run of the engraver may use. Memory and file size are limited on POSIX only.

    Where the memory of this process is limited, that limit holds instead of ``memory_bytes``.
    """

    seconds: int = 300
    memory_bytes: int = 4 << 30
    file_bytes: int = 256 << 20


def start(
    folder: Path, command: Sequence[str], limits: Limits, stdin: int = subprocess.DEVNULL
) -> subprocess.Popen[bytes]:
    """Start the engraver; its log is written to :data:`LOG`.

    Raises:
        EngravingError: the program cannot be started.
    """
    with (folder / LOG).open("wb") as log:
        try:
            return subprocess.Popen(
                list(command),
                cwd=folder,
                env=_environment(folder),
                stdin=stdin,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
                preexec_fn=_limiter(limits),
            )
        except OSError as error:
            raise EngravingError(
                f"LilyPond cannot be started: {error.strerror}", mend=HOW_TO_GET
            ) from error


def ended(
    folder: Path,
    process: subprocess.Popen[bytes],
    limits: Limits,
    aside: Callable[[], None] | None,
    source: str | None = None,
) -> int:
    """Give it its source if it waits for one, do what is to be done ``aside``, wait for its end.

    Returns the exit status.

    Raises:
        EngravingError: it took too long.
    """
    late = threading.Event()

    def stop() -> None:
        late.set()
        _kill(process)

    # A clock of its own, since waiting with a limit looks only twenty times a second.
    clock = threading.Timer(limits.seconds, stop)
    clock.daemon = True
    clock.start()
    try:
        if process.stdin is not None and source is not None:
            # It may have ended already; its log then tells why.
            with suppress(OSError):
                process.stdin.write(source.encode())
            with suppress(OSError):
                process.stdin.close()
        if aside is not None:
            aside()
        status = process.wait()
    finally:
        clock.cancel()
        end(process)
    if late.is_set():
        raise EngravingError(
            f"LilyPond was stopped after {limits.seconds} seconds",
            mend=f"Its log is {folder / LOG}; a part in several files may help.",
        )
    return status


def end(process: subprocess.Popen[bytes]) -> None:
    """Stop the engraver and whatever it started, if it still runs."""
    if process.poll() is None:
        _kill(process)
        process.wait()


def _kill(process: subprocess.Popen[bytes]) -> None:
    if os.name == "posix":
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    else:
        process.kill()


def _environment(folder: Path) -> dict[str, str]:
    """What LilyPond needs, and nothing of the user's but the cache of the machine's fonts.

    Without that cache fontconfig would look through all fonts in every run.
    """
    kept = {
        name: os.environ[name]
        for name in ("PATH", "SYSTEMROOT", "WINDIR", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH")
        if name in os.environ
    }
    private = str(folder)
    return {
        **kept,
        "HOME": private,
        "XDG_CACHE_HOME": os.environ.get("XDG_CACHE_HOME", str(Path("~/.cache").expanduser())),
        "TMPDIR": private,
        "TEMP": private,
        "TMP": private,
        "LANG": "C.UTF-8",
        "LC_ALL": "C.UTF-8",
        "TZ": "UTC",
        # Garbage is first collected when there is much of it: templates/memory.ily.
        "GC_DONT_GC": "1",
    }


def _limiter(limits: Limits) -> Callable[[], None] | None:
    """What the new process does between its birth and the start of LilyPond."""
    if sys.platform == "win32":
        return None
    import resource

    # All that is looked up or allocated is so here: the new process must only call.
    kinds = [
        (resource.RLIMIT_CPU, limits.seconds),
        (resource.RLIMIT_FSIZE, limits.file_bytes),
        (resource.RLIMIT_CORE, 0),
    ]
    # macOS refuses a limit of address space.
    if sys.platform != "darwin":
        kinds.append((resource.RLIMIT_AS, limits.memory_bytes))
    wanted = []
    for kind, value in kinds:
        soft, most = resource.getrlimit(kind)
        # A limit of memory that is set for us holds for the engraver too, whatever it is.
        if kind == resource.RLIMIT_AS and soft != resource.RLIM_INFINITY:
            value = soft
        allowed = value if most == resource.RLIM_INFINITY else min(value, most)
        wanted.append((kind, (allowed, most)))
    tie = _tie_to_parent()

    def limit() -> None:
        tie()
        for kind, values in wanted:
            resource.setrlimit(kind, values)

    return limit


def _tie_to_parent() -> Callable[[], None]:
    """What has a new process killed when the one that starts it ends, where the system can.

    Linux tells the end of the thread that started it, so engravers are started by threads that
    outlive them. Source: Linux manual, PR_SET_PDEATHSIG (2const).
    """
    if sys.platform != "linux":
        return lambda: None
    try:
        prctl = ctypes.CDLL(None).prctl
    except (OSError, AttributeError):
        return lambda: None
    parent = os.getpid()

    def tie() -> None:
        prctl(_SET_DEATH_SIGNAL, signal.SIGKILL, 0, 0, 0)
        if os.getppid() != parent:
            # It ended before the system knew that its end matters.
            os._exit(1)

    return tie
