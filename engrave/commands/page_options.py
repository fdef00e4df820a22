"""What is wanted of the page: the options that ``mark`` and ``batch`` share."""

from __future__ import annotations

from typing import Annotated

import typer

__all__ = [
    "ContactSheetOption",
    "DpiOption",
    "FlagsOption",
    "HouseStyleOption",
    "KeepBreaksOption",
    "PngOption",
    "PreviewOption",
    "StandaloneOption",
    "WriteBackOption",
]

HouseStyleOption = Annotated[
    str,
    typer.Option("--house-style", metavar="NAME|FILE", help="How the page looks."),
]
DpiOption = Annotated[
    int, typer.Option(min=30, max=1200, help="Resolution of the PNG pages, dots an inch.")
]
PngOption = Annotated[bool, typer.Option("--png/--no-png", help="Whether to draw PNG pages.")]
KeepBreaksOption = Annotated[
    bool,
    typer.Option("--keep-breaks", help="Break systems and pages where the score does."),
]
PreviewOption = Annotated[
    bool,
    typer.Option("--preview", help="Draw only the systems that hold marks, one PNG each."),
]
FlagsOption = Annotated[
    bool,
    typer.Option("--flags", help="Number the findings in the margin of the PNG pages."),
]
ContactSheetOption = Annotated[
    bool, typer.Option("--contact-sheet", help="Draw all pages on one small PNG as well.")
]
StandaloneOption = Annotated[
    bool,
    typer.Option(
        "--standalone/--no-standalone",
        help="Whether the stylesheet stands in STEM.ly, or beside it as pedals.ily.",
    ),
]
WriteBackOption = Annotated[
    bool,
    typer.Option(
        "--write-back",
        help="Also write the marks into a copy of the score itself (MusicXML, MXL or MEI).",
    ),
]
