"""``pedalsetter glissando``: settings whose strings sound what is wanted."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pedalsetter.engrave.commands.page_options import HouseStyleOption
from pedalsetter.engrave.commands.pictures import (
    PIPED,
    AsOption,
    DpiOption,
    check_picture,
    output_of,
    write_picture,
)
from pedalsetter.engrave.commands.shell import ForceOption, QuietOption, Told, TracebackOption
from pedalsetter.engrave.output.reports.terminal import write_data

__all__ = ["glissando"]

_MOST_DRAWN = 12


def glissando(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="NOTES|CHORD|SCALE",
            help="What is to sound: notes (C Eb Gb A), a chord (Cm7, F#dim7, C7b9), or a scale "
            '("whole tone", "F harmonic minor").',
            show_default=False,
        ),
    ],
    start: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="SETTING",
            help="The setting before: what moves fewest pedals comes first.",
            show_default=False,
        ),
    ] = None,
    nearest: Annotated[
        int,
        typer.Option(
            "--nearest",
            min=0,
            max=2187,
            metavar="NUMBER",
            help="How many settings with foreign notes to give.",
        ),
    ] = 5,
    json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help=f"Also engrave the best settings, {_MOST_DRAWN} at most: .png, .svg, .pdf or .ly.",
            show_default=False,
        ),
    ] = None,
    house_style: HouseStyleOption = "final-part",
    dpi: DpiOption = 150,
    form: AsOption = None,
    force: ForceOption = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Find the settings for a glissando.

    Prints those that sound exactly the notes, those without a foreign note, and the nearest others.
    """
    with Told(traceback):
        from pedalsetter.analysis.glissandi.glissando import glissando_settings
        from pedalsetter.analysis.glissandi.pitch_sets import read_pitch_set
        from pedalsetter.analysis.instrument.harp import Setting

        wanted = read_pitch_set(" ".join(words))
        before = Setting.read(start) if start is not None else None
        if output is not None:
            from pedalsetter.engrave.output.pictures.picture import FORMS

            output = output_of(output, form)
            check_picture(output, FORMS, None, force=force)
        elif form is not None:
            raise typer.BadParameter("--as goes with -o -")
        answer = glissando_settings(wanted.pitch_classes, before, nearest=nearest)
        from pedalsetter.engrave.output.reports.glissando_report import (
            glissando_json,
            print_glissando,
        )

        if output is not None and str(output.parent) == PIPED:
            pass  # the picture alone
        elif json:
            write_data(glissando_json(wanted, answer, before))
        else:
            print_glissando(wanted, answer, before)
        if output is not None:
            from pedalsetter.engrave.house_style import load_house_style
            from pedalsetter.engrave.output.pictures.glissando_example import draw_glissandi

            best = answer.best[:_MOST_DRAWN]
            picture = draw_glissandi(wanted, best, load_house_style(house_style), before)
            write_picture(output, picture.files(output, dpi), quiet or json, None, force=force)
