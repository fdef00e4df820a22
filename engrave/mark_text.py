"""The text of pedal marks in a house style: one wording for the page and for the user's file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pedalsetter.analysis.instrument.harp import Foot, Letter, Position, Setting
from pedalsetter.analysis.instrument.pitch_names import Language, letter_name, name_of
from pedalsetter.analysis.instrument.respelling import Pitch, Sounding
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram
from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.engrave.house_style import HouseStyle

__all__ = [
    "DIVIDER",
    "STRING_NAME_SIZE",
    "Word",
    "change_words",
    "mark_font_points",
    "pedal_word",
    "setting_lines",
    "stack_lines",
    "string_text",
    "string_words",
]

DIVIDER = "|"
"""Stands between B and E in a setting in one line."""

STRING_NAME_SIZE = -1
"""Names of strings at notes, in steps from the size of other text; as in ``pedals.ily``."""

_TEXT_POINTS = 11.0
"""Size of text beside a staff of 20 points (LilyPond's ``text-font-size``)."""

_NO_BREAK = "\u00a0"


@dataclass(frozen=True, slots=True)
class Word:
    """One pedal, or the divider."""

    text: str
    ringed: bool = False
    added: bool = False
    """By an editor: printed in brackets."""


def pedal_word(letter: Letter, position: Position, style: HouseStyle, *, natural: bool) -> str:
    """A pedal position as the style spells it; ``natural`` tells whether ♮ must be seen.

    With signs, German B flat has its sign: a bare B would be B natural to everybody else. Words
    of one name hold together by a space at which no line breaks.
    """
    language = style.names
    if style.spelling == "words":
        name = name_of(letter, position, language, with_natural=natural)
    else:
        name = letter_name(letter, language)
        if language is Language.GERMAN and letter is Letter.B and position is Position.FLAT:
            name = "B"
        if natural or position is not Position.NATURAL:
            name += position.sign
    first = name[0].upper() if style.capitals else name[0].lower()
    return (first + name[1:]).replace(" ", _NO_BREAK)


def change_words(mark: ChangeMark, style: HouseStyle) -> tuple[Word, ...]:
    """The letters of a mark, one for each of its changes."""
    return tuple(
        Word(
            pedal_word(change.letter, change.new, style, natural=True),
            added=change.letter in mark.added,
        )
        for change in mark.changes
    )


def stack_lines(mark: ChangeMark, style: HouseStyle) -> tuple[tuple[Word, ...], ...]:
    """The letters of a mark as lines, top to bottom: right foot above left."""
    words = change_words(mark, style)
    lines = (
        tuple(word for word, change in zip(words, mark.changes, strict=True) if change.foot is foot)
        for foot in (Foot.RIGHT, Foot.LEFT)
    )
    return tuple(line for line in lines if line)


def string_words(mark: StringMark, style: HouseStyle) -> tuple[str, ...]:
    """The names of a chord's strings, top to bottom, the natural written out.

    What an ornament adds is named as it is read, too: ``E=F♭``.
    """
    return tuple(
        [_string_word(string, style) for string in mark.strings]
        + [
            f"{_read_word(pitch, style)}={_string_word(string, style)}"
            for pitch, string in mark.beside
        ]
    )


def _string_word(string: Sounding, style: HouseStyle) -> str:
    return pedal_word(string.letter, string.position, style, natural=True)


def _read_word(pitch: Pitch, style: HouseStyle) -> str:
    """A note as it is read; no pedal has a double alteration, which keeps its English name."""
    if abs(pitch.alter) == 2:
        return pitch.name
    return pedal_word(pitch.letter, Position(pitch.alter), style, natural=False)


def string_text(mark: StringMark, style: HouseStyle) -> tuple[str, ...]:
    """The names as they are printed, each in brackets: ``(=E♯)``, and in a trill ``(E=F♭)``."""
    return tuple(f"({word})" if "=" in word else f"(={word})" for word in string_words(mark, style))


def setting_lines(diagram: Diagram, style: HouseStyle) -> tuple[tuple[Word, ...], ...]:
    """A setting in letters, in pedal order: two lines, right foot above, or one with a divider.

    Source of the order in one line: LilyPond Notation Reference, "Harp pedals"; two lines with the
    right foot above, common practice, no source.
    """
    words = _words(diagram.setting, diagram.changed, style)
    if style.diagram_form == "rows":
        return (words[3:], words[:3])
    return ((*words[:3], Word(DIVIDER), *words[3:]),)


def _words(setting: Setting, changed: Sequence[Letter], style: HouseStyle) -> tuple[Word, ...]:
    return tuple(
        Word(
            pedal_word(letter, position, style, natural=style.naturals == "always"),
            style.ring_changed and letter in changed,
        )
        for letter, position in setting
    )


def mark_font_points(style: HouseStyle, size: float) -> float:
    """Points of letters of so many steps of size, as they are printed on the page."""
    return float(round(_TEXT_POINTS * style.staff_size_points / 20 * 2 ** (size / 6), 1))
