"""How long a command may take and how much memory it may use, whatever a score asks for.

Limits of the score itself (size, depth, bars, notes) stop most hostile files early; what remains
is stopped here. Memory is limited on Linux, time everywhere.
"""

from __future__ import annotations

import inspect
import os
import sys
import threading
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from types import FrameType
from typing import Annotated, Any, get_type_hints

import typer

from pedalsetter.analysis.errors import LimitError
from pedalsetter.engrave.commands.shell import Told

__all__ = ["MEGABYTES", "SECONDS", "Budget", "within_budget"]

SECONDS = 600
"""Default time for a command by the clock; a full evening's harp part takes less than a minute."""
MEGABYTES = 4096
"""Default memory for a command; LilyPond, a process of its own, may use as much again."""

SecondsOption = Annotated[
    int,
    typer.Option("--time-limit", min=1, metavar="S", help="Stop after so many seconds."),
]
MemoryOption = Annotated[
    int,
    typer.Option(
        "--memory-limit", min=64, metavar="MB", help="Stop at so many megabytes of memory (Linux)."
    ),
]


class _TimeIsUp(BaseException):
    """Not an Exception, so that no library's ``except Exception`` can swallow it."""


class Budget:
    """Ends what runs inside it when its time or memory is used up.

    ``file`` is named in the message. Must be entered in the main thread.

    Raises:
        LimitError: when left because of one of the two.
    """

    def __init__(
        self, seconds: int = SECONDS, megabytes: int = MEGABYTES, *, file: str | None = None
    ) -> None:
        self.seconds = seconds
        self.megabytes = megabytes
        self.file = file
        self._undo: list[Callable[[], object]] = []
        self._is_up = False

    def __enter__(self) -> Budget:
        self._limit_memory()
        self._set_alarm()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, _trace: object
    ) -> None:
        while self._undo:
            self._undo.pop()()
        if isinstance(error, _TimeIsUp) or (self._is_up and isinstance(error, KeyboardInterrupt)):
            raise LimitError(
                f"stopped after {self.seconds:,} {'second' if self.seconds == 1 else 'seconds'}",
                file=self.file,
                mend="Allow more with --time-limit.",
            ) from None
        if isinstance(error, MemoryError):
            raise LimitError(
                f"stopped at {self.megabytes:,} MB of memory",
                file=self.file,
                mend="Allow more with --memory-limit.",
            ) from None

    def _limit_memory(self) -> None:
        if sys.platform != "linux":
            return
        import resource

        old = resource.getrlimit(resource.RLIMIT_AS)
        # What the process holds already (libraries, most of all) is not the score's doing.
        held = int(Path("/proc/self/statm").read_text("ascii").split()[0]) * os.sysconf(
            "SC_PAGE_SIZE"
        )
        allowed = held + self.megabytes * 2**20
        for most in old:
            if most != resource.RLIM_INFINITY:
                allowed = min(allowed, most)
        resource.setrlimit(resource.RLIMIT_AS, (allowed, old[1]))
        self._undo.append(lambda: resource.setrlimit(resource.RLIMIT_AS, old))

    def _set_alarm(self) -> None:
        if sys.platform == "win32":
            import _thread

            def interrupt() -> None:
                self._is_up = True
                _thread.interrupt_main()

            timer = threading.Timer(self.seconds, interrupt)
            timer.daemon = True
            timer.start()
            self._undo.append(timer.cancel)
            return
        import signal

        def ring(_number: int, _frame: FrameType | None) -> None:
            raise _TimeIsUp

        old = signal.signal(signal.SIGALRM, ring)
        # It rings again each second, in case a library's clean-up takes the first for its own.
        signal.setitimer(signal.ITIMER_REAL, self.seconds, 1)

        def silence() -> None:
            signal.setitimer(signal.ITIMER_REAL, 0)
            signal.signal(signal.SIGALRM, old)

        self._undo.append(silence)


def within_budget(command: Callable[..., None]) -> Callable[..., None]:
    """The command with the options ``--time-limit`` and ``--memory-limit``, and held to them.

    Commands that read no score are returned as they are; one that watches its score is not held.
    """
    signature = inspect.signature(command)
    if "score" not in signature.parameters:
        return command

    @wraps(command)
    def held(time_limit: int, memory_limit: int, **options: Any) -> None:
        if options.get("watch"):
            # It goes on until it is interrupted.
            command(**options)
            return
        file = Path(str(options["score"])).name
        with (
            Told(bool(options.get("traceback"))),
            Budget(time_limit, memory_limit, file=file),
        ):
            command(**options)

    options = {
        "time_limit": (SecondsOption, SECONDS),
        "memory_limit": (MemoryOption, MEGABYTES),
    }
    own = [
        inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=kind)
        for name, (kind, default) in options.items()
    ]
    hints = get_type_hints(command, include_extras=True)
    parameters = [
        each.replace(annotation=hints.get(name, each.annotation), kind=each.KEYWORD_ONLY)
        for name, each in signature.parameters.items()
    ]
    del held.__wrapped__
    held.__signature__ = signature.replace(parameters=[*parameters, *own])  # type: ignore[attr-defined]
    held.__annotations__ = {**hints, **{name: kind for name, (kind, _) in options.items()}}
    return held
