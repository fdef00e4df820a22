"""Settings for a glissando as a musician would find them in a part: diagram, notes and line.

One octave of strings is written out from the root, all seven letters, and a line leads on; foreign
notes stand in parentheses. (Writing the first octave and a line is common practice, no source.)
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.glissandi.glissando import GlissandoSetting
from pedalsetter.analysis.glissandi.pitch_sets import PitchSet
from pedalsetter.analysis.instrument.harp import Letter, Setting
from pedalsetter.analysis.marks.marking import Diagram, Reason
from pedalsetter.analysis.part import Place
from pedalsetter.engrave.house_style import DEFAULT_STYLE, HouseStyle, load_house_style
from pedalsetter.engrave.layout.lanes import diagram_event
from pedalsetter.engrave.notation.escaping import quoted
from pedalsetter.engrave.output.pages.page import VERSION, font_of_row, stylesheet
from pedalsetter.engrave.output.pictures.picture import EngravedPicture, draw_with_lilypond
from pedalsetter.engrave.output.reports.glissando_report import moves_told

__all__ = ["draw_glissandi", "glissandi_source"]

_SCALE_ORDER = "CDEFGAB"
_WIDTH_MM = 120
_MARGIN_MM = 4

_PAPER = r"""#(set-global-staff-size %(staff)s)

\paper {
  paper-width = %(width)d\mm
  page-breaking = #ly:one-page-breaking
  top-margin = %(margin)d\mm
  bottom-margin = %(margin)d\mm
  left-margin = %(margin)d\mm
  right-margin = %(margin)d\mm
  indent = 0
  ragged-right = ##t
  ragged-bottom = ##t
  print-page-number = ##f
  oddFooterMarkup = ##f
  evenFooterMarkup = ##f
  last-bottom-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 0))
  markup-markup-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 1.2))
  markup-system-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 1.0))
  score-markup-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 3.5))
}

\layout {
  \context {
    \Staff
    \remove Time_signature_engraver
  }
  \context {
    \Score
    \override Glissando.minimum-length = 14
    \override Glissando.springs-and-rods = #ly:spanner::set-spacing-rods
    \override Glissando.thickness = 1.6
    \override SpacingSpanner.base-shortest-duration = #(ly:make-moment 1/8)
  }
}
"""


def draw_glissandi(
    wanted: PitchSet,
    settings: Sequence[GlissandoSetting],
    style: HouseStyle | None = None,
    start: Setting | None = None,
) -> EngravedPicture:
    """Draw an example of each setting, one below the other, on paper just large enough.

    Without a ``style`` it is drawn in ``final-part``. With a setting to start from, the diagrams
    ring the pedals that move.

    Raises:
        EngravingError: LilyPond is missing or failed.
    """
    style = style or load_house_style(DEFAULT_STYLE)
    return draw_with_lilypond(glissandi_source(wanted, settings, style, start))


def glissandi_source(
    wanted: PitchSet,
    settings: Sequence[GlissandoSetting],
    style: HouseStyle,
    start: Setting | None = None,
) -> str:
    """LilyPond source of :func:`draw_glissandi`, whole in one file."""
    notes = " ".join(map(str, wanted.notes))
    title = f"{wanted.name}: {notes}" if wanted.name != notes else notes
    paper = _PAPER % {
        "staff": f"{style.staff_size_points:g}",
        "width": _WIDTH_MM,
        "margin": _MARGIN_MM,
    }
    pieces = [
        f'\\version "{VERSION}"\n\\language "english"',
        stylesheet(),
        paper,
        f"\\markup \\bold \\larger {quoted(title)}",
    ]
    for number, one in enumerate(settings, start=1):
        pieces += [
            f"\\markup \\smaller {quoted(_caption(wanted, one, start))}",
            _score(number, wanted, one, style, start),
        ]
    return "\n\n".join(pieces) + "\n"


def _caption(wanted: PitchSet, one: GlissandoSetting, start: Setting | None) -> str:
    told = [str(one.setting)]
    if one.missing:
        missing = [wanted.name_of(pitch_class) or "" for pitch_class in one.missing]
        told.append(f"without {' '.join(missing)}")
    if one.foreign:
        told.append("foreign: " + " ".join(f"{x.value}{one.setting[x].sign}" for x in one.foreign))
    if start is not None:
        told.append(f"pedals that move: {moves_told(one, start)}")
    return "; ".join(told)


def _score(
    number: int,
    wanted: PitchSet,
    one: GlissandoSetting,
    style: HouseStyle,
    start: Setting | None,
) -> str:
    changed = start.letters_unlike(one.setting) if start is not None else ()
    drawn = Diagram(Place(0, Fraction(0)), one.setting, changed, Reason.GLISSANDO)
    font = "".join(
        f" \\override TextScript.font-{name} = #'{value}" for name, value in font_of_row(style)
    )
    letters, octave = _strings_from_root(wanted, one.setting)
    names: list[str] = []
    for letter in letters:
        if names and letter is Letter.C:
            octave += 1
        name = _name(one.setting, letter, octave)
        names.append(rf"\parenthesize {name}" if letter in one.foreign else name)
    if letters[0] is Letter.C:
        octave += 1
    above = _name(one.setting, letters[0], octave)
    top = _name(one.setting, letters[0], octave + 1)
    run = " ".join(
        f"{name}16{'[' if index == 0 else ']' if index == 6 else ''}"
        for index, name in enumerate(names)
    )
    return (
        "\\score {\n"
        "  <<\n"
        "    \\new PedalLane \\with {"
        f" \\override TextScript.font-size = #{style.diagram_size:g}{font} }}"
        f" {{ \\cadenzaOn s1 * 7/16 {diagram_event(f'g{number}', drawn, style)} s2 s2 }}\n"
        f"    \\new Staff {{ \\cadenzaOn \\accidentalStyle forget {run} "
        f'{above}2\\glissando^\\markup \\italic "gliss." {top}2 \\bar "|" }}\n'
        "  >>\n"
        "  \\layout { }\n"
        "}"
    )


def _strings_from_root(wanted: PitchSet, setting: Setting) -> tuple[list[Letter], int]:
    """The seven letters upwards from the one that sounds the root, and the octave of the first.

    The root's own letter is taken where it sounds it; where no string does, the row begins on C.
    """
    root = wanted.notes[0]
    sounding = [
        Letter(name)
        for name in _SCALE_ORDER
        if setting.pitch_class(Letter(name)) == root.pitch_class
    ]
    first = root.letter if root.letter in sounding else sounding[0] if sounding else Letter.C
    place = _SCALE_ORDER.index(first.value)
    order = [Letter(_SCALE_ORDER[(place + step) % 7]) for step in range(7)]
    return order, 4 if place < 4 else 3


def _name(setting: Setting, letter: Letter, octave: int) -> str:
    sign = {-1: "f", 0: "", 1: "s"}[int(setting[letter])]
    return letter.value.lower() + sign + ("'" * (octave - 3) if octave >= 3 else "")
