"""What the commands that draw have in common: where the picture goes, and its resolution."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["DpiOption", "check_picture", "write_picture"]

DpiOption = Annotated[
    int, typer.Option(min=30, max=1200, help="Resolution of a PNG, dots an inch.")
]


def check_picture(path: Path, forms: Sequence[str], source: Path | None, *, force: bool) -> None:
    """Refuse before the work what :func:`write_picture` could not do after it.

    Raises:
        OutputError: the suffix is none of ``forms``, a file must not be replaced, or the folder
            cannot be written.
    """
    from pedalsetter.engrave.output.files import check_place
    from pedalsetter.engrave.output.picture import form_of

    form_of(path, forms)
    names = re.compile(rf"{re.escape(path.stem)}(-\d+)?{re.escape(path.suffix)}")
    check_place(path.parent, names, source, force=force)


def write_picture(
    path: Path, files: dict[str, bytes], quiet: bool, source: Path | None, *, force: bool
) -> None:
    """Write the files of a picture into the folder of ``path`` and name them.

    Raises:
        OutputError: the folder cannot be written, ``source`` would be overwritten, or, if not with
            ``force``, a file that is not ours or was edited.
    """
    from pedalsetter.engrave.output.files import write_files

    written = write_files(path.parent, files, source, force=force)
    if not quiet:
        typer.echo(f"Written to {path.parent}: {', '.join(one.name for one in written)}")
