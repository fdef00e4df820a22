"""Titles and names from the head of a MusicXML score."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from pedalsetter.analysis.reading.printed_text import points

__all__ = ["ScoreHeader", "read_header"]


@dataclass(frozen=True, slots=True)
class ScoreHeader:
    """What stands above the first system and at its foot."""

    title: str = ""
    subtitle: str = ""
    movement_title: str = ""
    composer: str = ""
    lyricist: str = ""
    arranger: str = ""
    rights: str = ""


def read_header(root: etree._Element) -> ScoreHeader:
    """Read work, movement, creators and rights; page credits fill what is missing."""
    credit = _credits(root)
    work = _text(root.find("work/work-title"))
    movement = _text(root.find("movement-title"))
    title = work or credit.get("title", "") or movement
    creators = _creators(root)
    subtitle = credit.get("subtitle", "")
    if not subtitle and movement and movement != title and work:
        subtitle = movement
    rights = [_text(each) for each in root.findall("identification/rights")]
    return ScoreHeader(
        title=title,
        subtitle=subtitle if subtitle != title else "",
        movement_title=movement,
        composer=creators.get("composer") or credit.get("composer", ""),
        lyricist=creators.get("lyricist") or creators.get("poet") or credit.get("lyricist", ""),
        arranger=creators.get("arranger") or credit.get("arranger", ""),
        rights="\n".join(line for line in rights if line) or credit.get("rights", ""),
    )


def _text(element: etree._Element | None) -> str:
    return " ".join((element.text or "").split()) if element is not None else ""


def _creators(root: etree._Element) -> dict[str, str]:
    found: dict[str, list[str]] = {}
    for creator in root.findall("identification/creator"):
        name = _text(creator)
        if name:
            found.setdefault(creator.get("type", "composer").lower(), []).append(name)
    return {kind: ", ".join(dict.fromkeys(names)) for kind, names in found.items()}


def _credits(root: etree._Element) -> dict[str, str]:
    """Texts on the first page by their type; without a type only a large centred one is a title."""
    found: dict[str, str] = {}
    largest: tuple[float, str] | None = None
    for credit in root.findall("credit"):
        if credit.get("page", "1") != "1":
            continue
        words = credit.findall("credit-words")
        text = "\n".join(
            " ".join(line.split())
            for line in "".join(word.text or "" for word in words).splitlines()
        ).strip()
        if not text:
            continue
        kind = _text(credit.find("credit-type")).lower()
        if kind:
            found.setdefault("lyricist" if kind == "poet" else kind, text)
        elif words[0].get("justify") == "center" or words[0].get("halign") == "center":
            size = points(words[0].get("font-size")) or 0.0
            if size >= 16 and (largest is None or size > largest[0]):
                largest = (size, text)
    if largest is not None:
        found.setdefault("title", largest[1])
    return found
