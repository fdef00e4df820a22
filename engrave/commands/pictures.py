"""What the commands that draw have in common: where the picture goes, and its resolution."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["DpiOption", "write_picture"]

DpiOption = Annotated[
    int, typer.Option(min=30, max=1200, help="Resolution of a PNG, dots an inch.")
]


def write_picture(path: Path, files: dict[str, bytes], quiet: bool, source: Path | None) -> None:
    """Write the files of a picture into the folder of ``path`` and name them.

    Raises:
        OutputError: the folder cannot be written, or ``source`` would be overwritten.
    """
    from pedalsetter.engrave.output.files import write_files

    written = write_files(path.parent, files, source or Path())
    if not quiet:
        typer.echo(f"Written to {path.parent}: {', '.join(one.name for one in written)}")
