"""What the commands that draw have in common: where the picture goes, and its resolution."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["PIPED", "AsOption", "DpiOption", "check_picture", "output_of", "write_picture"]

DpiOption = Annotated[
    int, typer.Option(min=30, max=1200, help="Resolution of a PNG, dots an inch.")
]


AsOption = Annotated[
    str | None,
    typer.Option(
        "--as",
        metavar="FORM",
        help="With -o -, which prints one result and nothing else: pdf, png, svg, ly, json or the "
        "suffix of the score.",
        show_default=False,
    ),
]
PIPED = "-"
"""The folder of a picture that is printed rather than written."""


def output_of(output: Path, form: str | None) -> Path:
    """Where a picture goes; one that is to be printed lies in a folder called ``-``."""
    if str(output) != PIPED:
        if form is not None:
            raise typer.BadParameter("--as goes with -o -")
        return output
    if form is None:
        raise typer.BadParameter("-o - wants a form: --as pdf, --as png or --as svg")
    return Path(PIPED) / f"picture.{form}"


def check_picture(path: Path, forms: Sequence[str], source: Path | None, *, force: bool) -> None:
    """Refuse before the work what :func:`write_picture` could not do after it.

    Raises:
        OutputError: the suffix is none of ``forms``, a file must not be replaced, or the folder
            cannot be written.
    """
    from pedalsetter.engrave.output.files import check_place
    from pedalsetter.engrave.output.pictures.picture import form_of

    form_of(path, forms)
    if str(path.parent) == PIPED:
        return
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
    from pedalsetter.analysis.errors import OutputError
    from pedalsetter.engrave.output.files import write_files
    from pedalsetter.engrave.output.reports.terminal import write_bytes

    if str(path.parent) == PIPED:
        if len(files) > 1:
            raise OutputError(
                f"{len(files)} pages cannot be printed as one {path.suffix} picture",
                mend="Ask for --as pdf.",
            )
        write_bytes(next(iter(files.values())))
        return
    written = write_files(path.parent, files, source, force=force)
    if not quiet:
        typer.echo(f"Written to {path.parent}: {', '.join(one.name for one in written)}")
