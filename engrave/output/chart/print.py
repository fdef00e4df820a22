"""Drawings as one PDF of lines, shapes and letters, sharp at any size."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any, Literal

from pedalsetter.engrave.output.chart.shapes import BLACK, Drawing, Line, Polygon, Ring, Shape

__all__ = ["drawings_pdf"]

_POINTS = 72 / 25.4
"""Points a millimetre."""

_ANCHORS: dict[str, Literal["left", "center", "right"]] = {
    "start": "left",
    "middle": "center",
    "end": "right",
}


def drawings_pdf(drawings: Sequence[Drawing]) -> bytes:
    """A page for each drawing, as large on paper; the same drawings give the same bytes."""
    # Half a second that only this form needs.
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages
    from matplotlib.figure import Figure

    stream = io.BytesIO()
    # Letters stay letters (type 42), so that they can be searched for; no date is written.
    with (
        rc_context({"pdf.fonttype": 42, "font.family": "DejaVu Sans"}),
        PdfPages(stream, metadata={"CreationDate": None}) as pages,
    ):
        for drawing in drawings:
            figure = Figure(figsize=(drawing.width / 25.4, drawing.height / 25.4))
            page = figure.add_axes((0, 0, 1, 1))
            page.set_axis_off()
            page.set_xlim(0, drawing.width)
            page.set_ylim(drawing.height, 0)
            shapes = [shape for _, group in drawing.groups for shape in group]
            for layer, shape in enumerate(shapes):
                page.add_artist(_artist(shape)).set_zorder(layer)
            pages.savefig(figure)
    return stream.getvalue()


def _artist(shape: Shape) -> Any:
    from matplotlib import lines, patches, text

    if isinstance(shape, Line):
        width = shape.width * _POINTS
        dash = shape.dash / shape.width if shape.dash else 0
        return lines.Line2D(
            *zip(shape.start, shape.end, strict=True),
            linewidth=width,
            color=_colour(shape.grey),
            linestyle=(0, (dash, dash)) if dash else "-",
            solid_capstyle="butt",
            dash_capstyle="butt",
        )
    if isinstance(shape, Polygon):
        return patches.Polygon(shape.points, closed=True, **_surface(shape))
    if isinstance(shape, Ring):
        return patches.Circle(shape.centre, shape.radius, **_surface(shape))
    return text.Text(
        *shape.at,
        shape.text,
        fontsize=shape.size * _POINTS,
        fontweight="bold" if shape.bold else "normal",
        color=_colour(shape.grey),
        horizontalalignment=_ANCHORS[shape.anchor],
        verticalalignment="baseline",
        parse_math=False,
    )


def _surface(shape: Polygon | Ring) -> dict[str, Any]:
    return {
        "facecolor": "none" if shape.fill is None else _colour(shape.fill),
        "edgecolor": _colour(BLACK) if shape.outline else "none",
        "linewidth": shape.outline * _POINTS,
        "joinstyle": "miter",
    }


def _colour(grey: int) -> str:
    """A grey as matplotlib reads it: a share of white."""
    return str(grey / 255)
