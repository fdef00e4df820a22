"""Elements as text, set out like the elements around them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import Setting
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram, Mark, Markings
from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.engrave.output.write_back.splice import Layout

__all__ = ["Element", "decimal", "diagram_of_musicxml", "in_order", "rendered"]


@dataclass(frozen=True, slots=True)
class Element:
    """An element with attributes, and either text or elements inside."""

    name: str
    attributes: tuple[tuple[str, str], ...] = ()
    content: str | tuple[Element, ...] = ()
    """Text, or elements; text is given as it is meant and escaped here."""
    is_markup: bool = False
    """The text holds markup of our own and is not escaped."""


def in_order(markings: Markings) -> list[Mark]:
    """All marks by place; at one place a diagram, then letters, then names of strings."""
    marks: list[Mark] = [*markings.diagrams, *markings.changes, *markings.strings]
    return sorted(marks, key=lambda mark: (mark.place, _ORDER.index(type(mark))))


_ORDER = (Diagram, ChangeMark, StringMark)


def rendered(element: Element, layout: Layout, prefix: str = "", level: int = 0) -> str:
    """The element as text, its children on lines of their own where the document breaks lines.

    ``prefix`` goes before each name.
    """
    name = prefix + element.name
    head = name + "".join(f' {key}="{_escaped(value)}"' for key, value in element.attributes)
    if not element.content:
        return f"<{head}/>"
    if isinstance(element.content, str):
        text = element.content if element.is_markup else _escaped(element.content)
        text = text.replace("\n", layout.line_break)
        return f"<{head}>{text}</{name}>"
    inner = "".join(
        layout.inside(level + 1) + rendered(child, layout, prefix, level + 1)
        for child in element.content
    )
    return f"<{head}>{inner}{layout.inside(level)}</{name}>"


def diagram_of_musicxml(setting: Setting) -> Element:
    """``<harp-pedals>`` with seven tunings in pedal order, naturals as 0.

    Source: MusicXML 4.0, ``harp-pedals`` (order D C B E F G A) and ``pedal-alter`` (required).
    """
    tunings = tuple(
        Element(
            "pedal-tuning",
            (),
            (
                Element("pedal-step", (), letter.value),
                Element("pedal-alter", (), str(int(position))),
            ),
        )
        for letter, position in setting
    )
    return Element("harp-pedals", (), tunings)


def decimal(number: Fraction, places: int = 6) -> str:
    """A number in decimal figures, rounded to so many places, without needless zeros.

    >>> decimal(Fraction(-3, 2)), decimal(Fraction(7, 3), 5), decimal(Fraction(4))
    ('-1.5', '2.33333', '4')
    """
    scaled = round(abs(number) * 10**places)
    whole, rest = divmod(scaled, 10**places)
    figures = f"{whole}.{rest:0{places}d}".rstrip("0").rstrip(".")
    return f"-{figures}" if number < 0 and scaled else figures


def _escaped(text: str) -> str:
    for sign, reference in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;")):
        text = text.replace(sign, reference)
    return text
