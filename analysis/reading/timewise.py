"""From ``score-timewise`` (bars that hold parts) to ``score-partwise`` (parts that hold bars)."""

from __future__ import annotations

from lxml import etree

__all__ = ["to_partwise"]


def to_partwise(root: etree._Element) -> etree._Element:
    """Turn a timewise score into a partwise one, in place, and return it.

    Source: MusicXML 4.0, ``score-timewise``: both forms hold the same elements, only the nesting of
    part and measure differs.
    """
    measures = root.findall("measure")
    order: list[str] = [head.get("id", "") for head in root.iterfind("part-list/score-part")]
    parts: dict[str, etree._Element] = {}
    for identity in order:
        parts[identity] = etree.Element("part", id=identity)
    for measure in measures:
        for part in measure.findall("part"):
            identity = part.get("id", "")
            target = parts.setdefault(identity, etree.Element("part", id=identity))
            turned = etree.SubElement(target, "measure")
            for name, value in measure.items():
                turned.set(name, value)
            turned.extend(list(part))
        root.remove(measure)
    root.tag = "score-partwise"
    root.extend([part for part in parts.values() if len(part)])
    return root
