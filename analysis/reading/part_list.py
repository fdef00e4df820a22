"""The parts of a score, and which of them are a harp."""

from __future__ import annotations

import copy
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from lxml import etree

from pedalsetter.analysis.reading.draft import Placed
from pedalsetter.analysis.reading.figures import whole
from pedalsetter.analysis.reading.limits import drop_namespace
from pedalsetter.analysis.reading.signs_for_all import kept_signs

__all__ = [
    "Outline",
    "PartInfo",
    "describe",
    "folded_name",
    "hand_of",
    "heads_of",
    "list_parts",
    "outline_of",
]

_HARP = re.compile(
    r"(?<![\w-])(harps?|harpe|harpes|harfen?|arpas?|arpe|arp|hrp|hrps|hp|hps|hpe|hfe|hrf)(?![\w-])"
)
"""Harp, Harfe, harpe, arpa (Italian and Spanish), their plurals and usual abbreviations."""

_NOT_A_CONCERT_HARP = re.compile(
    r"jew|mouth|maul|wind ?harp|aeolian|harp ?guitar|auto ?harp|harpsi|glass ?harp|blues"
)

_HANDS = (
    (
        1,
        re.compile(
            r"[\s,(\-–]*\b(r\.? ?h\.?|right( hand)?|rechte? ?(hand)?|rechts|m\.? ?d\.?|"
            r"(main|mano) (droite|destra|derecha)|upper|treble)(?!\w)\)?$"
        ),
    ),
    (
        2,
        re.compile(
            r"[\s,(\-–]*\b(l\.? ?h\.?|left( hand)?|linke? ?(hand)?|links|m\.? ?[gsi]\.?|"
            r"(main|mano) (gauche|sinistra|izquierda)|lower|bass)(?!\w)\)?$"
        ),
    ),
)

_ROMAN = {"i": "1", "ii": "2", "iii": "3", "iv": "4"}


@dataclass(frozen=True, slots=True)
class Outline:
    """What stays of a part whose music was let go."""

    staves: int
    time: etree._Element | None
    """The ``<time>`` with which it begins."""
    opening: etree._Element | None
    """Its first measure."""
    bars: int
    """How many measures it has."""
    signs: tuple[tuple[int, Placed], ...]
    """Its directions that may hold for everyone, each with the index of its bar."""


@dataclass(frozen=True, slots=True)
class PartInfo:
    """What the head of the score says about one part."""

    number: int
    """Place in the score, from 1."""
    id: str
    name: str
    abbreviation: str
    instruments: tuple[str, ...]
    """Names of its instruments."""
    sounds: tuple[str, ...]
    programs: tuple[int, ...]
    """MIDI programs, counted from 1."""
    staves: int
    brace: str | None
    """The brace that groups it with its neighbours, if there is one."""
    element: etree._Element
    outline: Outline | None = None
    """What is known of its music, if that was let go; its element is empty then."""

    @property
    def shown_name(self) -> str:
        """The name in messages; a part without one is told so."""
        return self.name or (self.instruments[0] if self.instruments else "(no name)")

    @property
    def is_harp_by_name(self) -> bool:
        """Whether its name, abbreviation or instrument sound says that it is a harp."""
        if any(sound == "pluck.harp" or sound.startswith("pluck.harp.") for sound in self.sounds):
            return True
        names = (self.name, self.abbreviation, *self.instruments)
        return any(_names_a_harp(name) for name in names)

    @property
    def is_harp_by_program(self) -> bool:
        """Whether it plays MIDI program 47 (counted from 1), the orchestral harp."""
        return 47 in self.programs


def list_parts(
    root: etree._Element, outlines: Mapping[int, Outline] = MappingProxyType({})
) -> list[PartInfo]:
    """All parts of a partwise score in the order of the page.

    ``outlines`` are those of parts whose music was let go, by number.
    """
    heads = {head.get("id"): head for head in root.iterfind("part-list/score-part")}
    braces = _braces(root)
    return [
        _info(number, element, heads.get(element.get("id")), braces, outlines.get(number))
        for number, element in enumerate(root.findall("part"), 1)
    ]


def heads_of(root: etree._Element) -> list[PartInfo]:
    """What the list of parts says before any music is known: each part is told as of one staff."""
    listed = root.find("{*}part-list")
    heads = [] if listed is None else listed.findall("{*}score-part")
    plain = [copy.deepcopy(head) for head in heads]
    for head in plain:
        drop_namespace(head)
    return [_info(number, head, head, {}, None) for number, head in enumerate(plain, 1)]


def outline_of(part: etree._Element, identity: str) -> Outline:
    """What stays of a part when its music is let go."""
    time = part.find("measure/attributes/time")
    opening = part.find("measure")
    return Outline(
        _staves(part),
        copy.deepcopy(time),
        copy.deepcopy(opening),
        len(part.findall("measure")),
        kept_signs(part, identity),
    )


def _info(
    number: int,
    element: etree._Element,
    head: etree._Element | None,
    braces: Mapping[str, str],
    outline: Outline | None,
) -> PartInfo:
    identity = element.get("id") or f"P{number}"
    return PartInfo(
        number=number,
        id=identity,
        name=_name(head, "part-name"),
        abbreviation=_name(head, "part-abbreviation"),
        instruments=_texts(head, "score-instrument/instrument-name"),
        sounds=_texts(head, "score-instrument/instrument-sound"),
        programs=tuple(whole(text, 0) for text in _texts(head, "midi-instrument/midi-program")),
        staves=_staves(element) if outline is None else outline.staves,
        brace=braces.get(identity),
        element=element,
        outline=outline,
    )


def folded_name(name: str) -> str:
    """A name for comparing: small letters, no accents or stops, roman figures as arabic."""
    plain = unicodedata.normalize("NFKD", name.casefold())
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    words = re.findall(r"[a-z]+|\d+", plain)
    return " ".join(_ROMAN.get(word, word) for word in words)


def hand_of(name: str) -> tuple[str, int]:
    """(name without its hand, hand): 1 for the right or upper, 2 for the left or lower, else 0.

    >>> hand_of("Harp RH")
    ('harp', 1)
    """
    lowered = " ".join(name.casefold().split())
    for hand, pattern in _HANDS:
        match = pattern.search(lowered)
        if match is not None and match.start() > 0:
            return lowered[: match.start()].strip(), hand
    return lowered, 0


def _names_a_harp(name: str) -> bool:
    lowered = name.casefold()
    return _HARP.search(lowered) is not None and _NOT_A_CONCERT_HARP.search(lowered) is None


def _name(head: etree._Element | None, tag: str) -> str:
    if head is None:
        return ""
    name = " ".join((head.findtext(tag) or "").split())
    display = head.find(f"{tag}-display")
    if not name and display is not None:
        name = " ".join("".join(text.text or "" for text in display.iter("display-text")).split())
    return name


def _texts(head: etree._Element | None, path: str) -> tuple[str, ...]:
    if head is None:
        return ()
    texts = (" ".join((each.text or "").split()) for each in head.findall(path))
    return tuple(text for text in texts if text)


def _staves(part: etree._Element) -> int:
    return max((whole(each.text, 1, least=1, most=8) for each in part.iter("staves")), default=1)


def _braces(root: etree._Element) -> dict[str, str]:
    """Part id to the innermost brace around it, each brace named by its place in the list."""
    open_groups: dict[str, str | None] = {}
    found: dict[str, str] = {}
    for place, element in enumerate(root.iterfind("part-list/*")):
        number = element.get("number", "1")
        if element.tag == "part-group":
            if element.get("type") == "start":
                symbol = (element.findtext("group-symbol") or "").strip()
                open_groups[number] = f"brace {place}" if symbol == "brace" else None
            else:
                open_groups.pop(number, None)
        elif element.tag == "score-part":
            braces = [group for group in open_groups.values() if group is not None]
            if braces:
                found[element.get("id", "")] = braces[-1]
    return found


def describe(parts: Sequence[PartInfo]) -> str:
    """The parts in one line, as messages list them: ``1 Flute, 2 Harp``."""
    return ", ".join(f"{part.number} {part.shown_name}" for part in parts)
