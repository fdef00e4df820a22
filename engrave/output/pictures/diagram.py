"""One setting diagram as a picture, exactly as it stands on the page of a house style."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Letter, Setting
from pedalsetter.analysis.marks.marking import Diagram, Reason
from pedalsetter.analysis.part import Place
from pedalsetter.engrave.house_style import DEFAULT_STYLE, HouseStyle, load_house_style
from pedalsetter.engrave.output.pages.page import VERSION, stylesheet
from pedalsetter.engrave.output.pictures.diagram_markup import diagram_markup
from pedalsetter.engrave.output.pictures.picture import EngravedPicture, draw_with_lilypond

__all__ = ["BARE_PAPER", "diagram_source", "draw_diagram"]

BARE_PAPER = r"""  top-margin = 0
  bottom-margin = 0
  right-margin = 0
  indent = 0
  print-page-number = ##f
  tagline = ##f
  top-markup-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 0))
  last-bottom-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 0))
"""
"""Lines of a paper block without margins, numbers and feet."""

_PAPER = r"""%% The paper is as large as the diagram with the air around it.
drawnDiagram = \markup %(drawn)s

\paper {
  #(define drawn
     (let ((paper (ly:parser-lookup '$defaultpaper)))
       (interpret-markup paper (list (ly:output-def-lookup paper 'text-font-defaults '()))
                         drawnDiagram)))
  paper-width = #(* staff-space (interval-length (ly:stencil-extent drawn X)))
  paper-height = #(* staff-space (interval-length (ly:stencil-extent drawn Y)))
  left-margin = #(* staff-space (- (car (ly:stencil-extent drawn X))))
%(bare)s}

\markup \drawnDiagram
"""


def draw_diagram(
    setting: Setting, style: HouseStyle | None = None, changed: Sequence[Letter] = ()
) -> EngravedPicture:
    """Draw the diagram of ``setting`` in the form and size that it has in ``style``, cropped.

    Without a ``style`` it is drawn in ``final-part``. Pedals in ``changed`` are ringed, unless the
    style rings none. All diagrams of a style have the same height; strokes have the same width
    too.

    Raises:
        EngravingError: LilyPond is missing or failed.
    """
    style = style or load_house_style(DEFAULT_STYLE)
    return draw_with_lilypond(diagram_source(setting, style, changed))


def diagram_source(setting: Setting, style: HouseStyle, changed: Sequence[Letter] = ()) -> str:
    """LilyPond source of :func:`draw_diagram`, whole in one file."""
    drawn = Diagram(Place(0, Fraction(0)), setting, tuple(changed), Reason.START)
    filled = _PAPER % {
        "drawn": diagram_markup(drawn, style, style.diagram_size),
        "bare": BARE_PAPER,
    }
    return (
        f'\\version "{VERSION}"\n\n% {setting}\n\n{stylesheet()}\n'
        f"#(set-global-staff-size {style.staff_size_points:g})\n\n{filled}"
    )
