"""Signs over and under a note: articulations, fermatas, fingerings, playing signs, dynamics."""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.part import Event
from pedalsetter.engrave.notation.escaping import markup, quoted
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["add_articulations", "dynamic"]

_ARTICULATIONS = {
    "staccato": r"\staccato",
    "staccatissimo": r"\staccatissimo",
    "spiccato": r"\staccatissimo",
    "accent": r"\accent",
    "soft-accent": r"\espressivo",
    "strong-accent": r"\marcato",
    "tenuto": r"\tenuto",
    "detached-legato": r"\portato",
    "doit": r"\bendAfter #3",
    "falloff": r"\bendAfter #-3",
}
"""MusicXML's ``articulations`` as LilyPond's scripts (Notation Reference, "List of
articulations"); those that stand behind a note follow below."""

_BEHIND = {"breath-mark": r"\breathe", "caesura": r"\caesura"}

_SHORT = {
    r"\staccato": "-.",
    r"\staccatissimo": "-!",
    r"\accent": "->",
    r"\marcato": "-^",
    r"\tenuto": "--",
    r"\portato": "-_",
}

_FERMATAS = {
    "normal": r"\fermata",
    "": r"\fermata",
    "angled": r"\shortfermata",
    "square": r"\longfermata",
    "double-angled": r"\veryshortfermata",
    "double-square": r"\verylongfermata",
    "half-curve": r"\henzeshortfermata",
    "double-dot": r"\henzelongfermata",
}

_TECHNICAL = {
    "up-bow": r"\upbow",
    "down-bow": r"\downbow",
    "open-string": r"\open",
    "thumb-position": r"\thumb",
    "stopped": r"\stopped",
    "snap-pizzicato": r"\snappizzicato",
    "heel": r"\rheel",
    "toe": r"\rtoe",
    "open": r"\open",
    "half-muted": r"\halfopen",
    "flageolet": r"\flageolet",
}

_DYNAMICS = frozenset(
    (
        "ppppp",
        "pppp",
        "ppp",
        "pp",
        "p",
        "mp",
        "mf",
        "f",
        "ff",
        "fff",
        "ffff",
        "fffff",
        "fp",
        "sf",
        "sff",
        "sp",
        "spp",
        "sfz",
        "rfz",
        "n",
    )
)
"""Dynamics that LilyPond has commands for (Notation Reference, "Dynamics")."""


def dynamic(text: str) -> str:
    """A dynamic as a post-event without its direction: a command, or quoted letters."""
    plain = text.strip()
    if plain in _DYNAMICS:
        return rf"\{plain}"
    if plain and set(plain) <= set("fmprsz"):
        return rf"\markup \dynamic {quoted(plain)}"
    return r"\markup " + markup(text, [r"\italic"])


def add_articulations(streams: Sequence[Stream], sheet: Sheet, notices: Notices) -> None:
    """Write all signs of this kind; one that has no form here is noticed."""
    for stream in streams:
        for event in stream.events:
            after = sheet.events[event.id].after
            for name, placement in event.articulations:
                _articulation(event, name, placement, after, sheet, notices)
            for shape, placement in event.fermatas:
                sign = _FERMATAS.get(shape, r"\fermata")
                after.append(_direction(placement) + sign)
            for name, text in event.technical:
                _technical(event, name, text, after, notices)
            for text in event.dynamics:
                sign = dynamic(text)
                after.append(f"_{sign}" if sign.startswith(r"\markup") else sign)
            if event.harmonic and event.heads and not _diamonds(event):
                after.append(r"\flageolet")


def _diamonds(event: Event) -> bool:
    return all(head.shape == "diamond" for head in event.heads)


def _direction(placement: str | None) -> str:
    return {"above": "^", "below": "_"}.get(placement or "", "")


def _articulation(
    event: Event,
    name: str,
    placement: str | None,
    after: list[str],
    sheet: Sheet,
    notices: Notices,
) -> None:
    if name in _BEHIND:
        sheet.events[event.id].behind.append(_BEHIND[name])
        return
    sign = _ARTICULATIONS.get(name)
    if sign is None:
        notices.at(event, f"the sign '{name}' has no form here: left out")
        return
    if not event.heads:
        notices.at(event, f"the sign '{name}' on a rest: left out")
        return
    direction = _direction(placement)
    if sign in _SHORT:
        short = _SHORT[sign]
        after.append(direction + short[1:] if direction else short)
    else:
        after.append(direction + sign)


def _technical(event: Event, name: str, text: str, after: list[str], notices: Notices) -> None:
    sign = _TECHNICAL.get(name)
    if sign is not None:
        after.append(sign)
    elif name in ("other-technical", "pluck", "fret", "string") and text.strip():
        after.append(r"^\markup " + markup(text, [r"\italic", r"\small"]))
    else:
        notices.at(event, f"the playing sign '{name}' has no form here: left out")
