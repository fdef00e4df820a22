"""Titles and names from the head of a MusicXML score."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.reading.figures import decimal
from pedalsetter.analysis.reading.printed_text import points

__all__ = ["ScoreHeader", "read_header"]


_NEAR = 200
"""Tenths of a staff space below the title within which a centred text belongs to it."""


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
    below = [*credit.get("subtitle", "").splitlines(), movement if work else ""]
    subtitle = "\n".join(dict.fromkeys(line for line in below if line and line != title))
    rights = [_text(each) for each in root.findall("identification/rights")]
    return ScoreHeader(
        title=title,
        subtitle=subtitle,
        movement_title=movement,
        composer=creators.get("composer") or credit.get("composer", ""),
        lyricist=creators.get("lyricist") or creators.get("poet") or credit.get("lyricist", ""),
        arranger=creators.get("arranger") or credit.get("arranger", ""),
        rights="\n".join(line for line in rights if _says(line)) or credit.get("rights", ""),
    )


def _says(rights: str) -> bool:
    """Whether rights are claimed for anybody; some programs write the bare sign."""
    return any(letter.isalnum() for letter in re.sub(r"\([cp]\)", "", rights.lower()))


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
    """Texts on the first page by their type.

    Of those without a type the largest centred one is the title, if it is large enough, and centred
    ones near below it are subtitles.
    """
    found: dict[str, str] = {}
    centred: list[tuple[float, Fraction, str]] = []
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
            centred.append((size, decimal(words[0].get("default-y")) or Fraction(0), text))
    large = [each for each in centred if each[0] >= 16]
    if large:
        _, height, title = max(large, key=lambda each: each[0])
        found.setdefault("title", title)
        below = [text for _, at, text in centred if height - _NEAR <= at < height]
        if below:
            found.setdefault("subtitle", "\n".join(below))
    return found
