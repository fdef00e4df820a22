"""A drawing as SVG. Text goes in as data of an XML tree, so that nothing in it can be markup."""

from __future__ import annotations

import re
from typing import Any

from lxml import etree

from pedalsetter.engrave.output.chart.lettering import FONT_FAMILY
from pedalsetter.engrave.output.chart.shapes import Drawing, Line, Polygon, Ring, Shape, Words

__all__ = ["drawing_svg"]

_NAMESPACE = "http://www.w3.org/2000/svg"
_DEFAULT: dict[Any, str] = {None: _NAMESPACE}
"""SVG is the document's own namespace, so that no element bears a prefix."""
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def drawing_svg(drawing: Drawing) -> bytes:
    """The drawing as an SVG document, sized in millimetres; the same drawing, the same bytes.

    What a group of shapes shows is its ``title``, which browsers tell when the pointer rests on it.
    """
    root = etree.Element(
        f"{{{_NAMESPACE}}}svg",
        {
            "width": f"{_number(drawing.width)}mm",
            "height": f"{_number(drawing.height)}mm",
            "viewBox": f"0 0 {_number(drawing.width)} {_number(drawing.height)}",
            "font-family": FONT_FAMILY,
            "role": "img",
        },
        nsmap=_DEFAULT,
    )
    _titled(root, drawing.title)
    etree.SubElement(root, _tag("rect"), {"width": "100%", "height": "100%", "fill": "#ffffff"})
    for title, shapes in drawing.groups:
        parent = root
        if title:
            parent = etree.SubElement(root, _tag("g"))
            _titled(parent, title)
        for shape in shapes:
            _add(parent, shape)
    etree.indent(root)
    written: bytes = etree.tostring(root, encoding="UTF-8", xml_declaration=True)
    return written + b"\n"


def _titled(parent: etree._Element, text: str) -> None:
    if text:
        etree.SubElement(parent, _tag("title")).text = _NOT_XML.sub("", text)


def _add(parent: etree._Element, shape: Shape) -> None:
    if isinstance(shape, Line):
        (x1, y1), (x2, y2) = shape.start, shape.end
        attributes = {
            **{name: _number(at) for name, at in (("x1", x1), ("y1", y1), ("x2", x2), ("y2", y2))},
            "stroke": _colour(shape.grey),
            "stroke-width": _number(shape.width),
        }
        if shape.dash:
            attributes["stroke-dasharray"] = _number(shape.dash)
        etree.SubElement(parent, _tag("line"), attributes)
    elif isinstance(shape, Polygon):
        points = " ".join(f"{_number(x)},{_number(y)}" for x, y in shape.points)
        etree.SubElement(parent, _tag("polygon"), {"points": points, **_surface(shape)})
    elif isinstance(shape, Ring):
        x, y = shape.centre
        place = {"cx": _number(x), "cy": _number(y), "r": _number(shape.radius)}
        etree.SubElement(parent, _tag("circle"), {**place, **_surface(shape)})
    else:
        _add_words(parent, shape)


def _add_words(parent: etree._Element, words: Words) -> None:
    x, y = words.at
    attributes = {"x": _number(x), "y": _number(y), "font-size": _number(words.size)}
    if words.anchor != "start":
        attributes["text-anchor"] = words.anchor
    if words.bold:
        attributes["font-weight"] = "bold"
    if words.grey:
        attributes["fill"] = _colour(words.grey)
    etree.SubElement(parent, _tag("text"), attributes).text = _NOT_XML.sub("", words.text)


def _surface(shape: Polygon | Ring) -> dict[str, str]:
    surface = {"fill": "none" if shape.fill is None else _colour(shape.fill)}
    if shape.outline:
        surface |= {"stroke": "#000000", "stroke-width": _number(shape.outline)}
    return surface


def _colour(grey: int) -> str:
    return f"#{grey:02x}{grey:02x}{grey:02x}"


def _number(value: float) -> str:
    """Three places are a thousandth of a millimetre."""
    return f"{value:.3f}".rstrip("0").rstrip(".") or "0"


def _tag(name: str) -> str:
    return f"{{{_NAMESPACE}}}{name}"
