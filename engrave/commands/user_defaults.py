"""The user's own defaults: a ``pedalsetter.toml`` beside the score, or in a folder above it.

    house-style = "ours.toml"       # relative to this file
    source-marks = "complete"
    dpi = 200

    [batch]                         # for one command alone
    jobs = 2

What is said on the command line goes before the file.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import typer

from pedalsetter.analysis.errors import OptionsError
from pedalsetter.analysis.naming.wording import likely

__all__ = ["OPTIONS_FILE", "take_defaults"]

OPTIONS_FILE = "pedalsetter.toml"

_OPTIONS = frozenset(
    {"allow", "contact-sheet", "critical-report", "dpi", "flags", "flat", "house-style", "jobs"}
    | {"keep-breaks", "memory-limit", "mends", "open", "png", "preview", "proof", "respell"}
    | {"source-marks", "standalone", "strict", "thorough", "time-limit", "verbose", "write-back"}
)
"""Options that may have a default of the user's; the others belong to one score or one call."""


def take_defaults(context: Any, commands: frozenset[str]) -> None:
    """Give options of a parsed command line that were not given the user's own defaults.

    Raises:
        OptionsError: the file cannot be read, or names an option or a command that there is not.
    """
    file = _found(Path(context.params.get("score") or ".").absolute())
    if file is None:
        return
    wanted = _read(file, str(context.info_name), commands)
    for param in context.command.params:
        name = next((one[2:] for one in param.opts if one.startswith("--")), "")
        source = context.get_parameter_source(param.name)
        if name not in wanted or source is None or source.name != "DEFAULT":
            continue
        value = wanted[name]
        if name == "house-style" and str(value).endswith(".toml"):
            value = str(file.parent / value)
        try:
            context.params[param.name] = param.process_value(context, value)
        except (typer.BadParameter, TypeError, ValueError) as error:
            what = getattr(error, "message", None) or str(error)
            raise OptionsError(f"{name}: {what}", file=str(file)) from error


def _found(score: Path) -> Path | None:
    folders = (score, *score.parents) if score.is_dir() else score.parents
    return next((one / OPTIONS_FILE for one in folders if (one / OPTIONS_FILE).is_file()), None)


def _read(file: Path, command: str, commands: frozenset[str]) -> dict[str, Any]:
    try:
        document = tomllib.loads(file.read_text("utf-8-sig"))
    except (OSError, ValueError, RecursionError) as error:
        what = getattr(error, "strerror", None) or str(error)
        raise OptionsError(f"the options cannot be read: {what}", file=str(file)) from error
    general = {key: value for key, value in document.items() if not isinstance(value, dict)}
    own = {key: value for key, value in document.items() if isinstance(value, dict)}
    for key, known, kind in (
        *((key, commands, "command") for key in own),
        *((key, _OPTIONS, "option") for table in (general, *own.values()) for key in table),
    ):
        if key not in known:
            raise OptionsError(
                f"there is no {kind} '{key}' to be given a default",
                file=str(file),
                mend=likely(key, known) or f"There are {', '.join(sorted(known))}.",
            )
    return {**general, **own.get(command, {})}
