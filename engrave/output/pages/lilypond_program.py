"""Which LilyPond is taken: found, and new enough."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from pedalsetter.analysis.errors import EngravingError

__all__ = ["HOW_TO_GET", "LEAST_VERSION", "find_lilypond", "lilypond_version"]

LEAST_VERSION = (2, 24)

HOW_TO_GET = (
    "Install LilyPond 2.24 or newer (Debian and Ubuntu: apt install lilypond; Homebrew: brew "
    "install lilypond; others: lilypond.org), or set PEDALSETTER_LILYPOND to the path of its "
    "program."
)
"""The mend of every error that means: there is no LilyPond to be used."""


def find_lilypond(environment: Mapping[str, str] | None = None) -> str:
    """The path of the LilyPond to use.

    In this order: the variable ``PEDALSETTER_LILYPOND``, the wheel that is installed with
    Pedalsetter where there is one, ``lilypond`` on the PATH.

    Raises:
        EngravingError: there is none, the variable leads nowhere, or it is older than 2.24.
    """
    variables = os.environ if environment is None else environment
    named = variables.get("PEDALSETTER_LILYPOND")
    if named:
        path = shutil.which(named, path=variables.get("PATH"))
        if path is None:
            raise EngravingError(
                f"PEDALSETTER_LILYPOND leads to no program: {named}",
                mend="Set it to the path of the LilyPond program, or unset it.",
            )
        return _new_enough(path)
    wheel = _wheel_program()
    if wheel is not None:
        return _new_enough(wheel)
    path = shutil.which("lilypond", path=variables.get("PATH"))
    if path is None:
        raise EngravingError("LilyPond, which engraves the page, was not found", mend=HOW_TO_GET)
    return _new_enough(path)


def lilypond_version(program: str) -> tuple[int, ...]:
    """The version of a LilyPond program, as in ``(2, 24, 3)``.

    Raises:
        EngravingError: the program does not run, or does not say that it is LilyPond.
    """
    return _version(program, Path(program).stat().st_mtime_ns if Path(program).exists() else 0)


def _wheel_program() -> str | None:
    """The program of the ``lilypond`` wheel, if it is installed."""
    try:
        import lilypond
    except ImportError:
        return None
    path = Path(str(lilypond.executable()))
    return str(path) if path.is_file() else None


def _new_enough(program: str) -> str:
    version = lilypond_version(program)
    if version < LEAST_VERSION:
        raise EngravingError(
            f"LilyPond {'.'.join(map(str, version))} is too old: {program}", mend=HOW_TO_GET
        )
    return program


@lru_cache(maxsize=16)
def _version(program: str, _changed: int) -> tuple[int, ...]:
    try:
        answer = subprocess.run(
            [program, "--version"],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=60,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise EngravingError(f"LilyPond cannot be started: {program}", mend=HOW_TO_GET) from error
    found = re.search(rb"LilyPond (\d+)\.(\d+)(?:\.(\d+))?", answer.stdout)
    if found is None:
        raise EngravingError(f"this program is not LilyPond: {program}", mend=HOW_TO_GET)
    return tuple(int(number) for number in found.groups() if number is not None)
