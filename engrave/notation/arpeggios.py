"""Arpeggio signs, on one chord or across voices and staves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.part import Event
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["JoinedArpeggios", "add_arpeggios"]


@dataclass(frozen=True, slots=True)
class JoinedArpeggios:
    """Where one sign spans several voices."""

    staves: frozenset[int]
    """Staves that must join signs of their own voices (``Span_arpeggio_engraver``); a
    ``PianoStaff`` joins those of its staves by itself."""
    across: frozenset[Fraction]
    """Onsets at which a sign runs from staff to staff."""


def add_arpeggios(streams: Sequence[Stream], sheet: Sheet, notices: Notices) -> JoinedArpeggios:
    r"""Write ``\arpeggio``; signs of one number at one moment become a single sign."""
    moments: dict[tuple[Fraction, int], list[Event]] = defaultdict(list)
    struck: dict[tuple[Fraction, int], list[Event]] = defaultdict(list)
    for stream in streams:
        for event in stream.events:
            if event.heads and event.grace is None:
                struck[event.onset, event.staff].append(event)
                if event.arpeggio is not None:
                    moments[event.onset, event.arpeggio.number].append(event)
    joining: set[int] = set()
    across: set[Fraction] = set()
    written: set[str] = set()
    for (onset, _), found in moments.items():
        staves = {event.staff for event in found}
        if len(staves) == 1 and len(found) == 1 and len(found[0].heads) == 1:
            # LilyPond has no sign for one note alone: the source means all of its staff
            found = struck[onset, found[0].staff]
            if len(found) == 1:
                notices.at(found[0], "an arpeggio on a single note: left out")
                continue
        found = [event for event in found if event.id not in written]
        signs = [event for event in found if not _is_within(event, found)]
        if len(signs) == 1 and len(signs[0].heads) == 1:
            notices.at(signs[0], "an arpeggio on a single note: left out")
            continue
        written.update(event.id for event in signs)
        kind = next((event.arpeggio.kind for event in found if event.arpeggio is not None), "plain")
        scope = ""
        if len(signs) > 1:
            scope = "PianoStaff." if len(staves) > 1 else "Staff."
            if len(staves) == 1:
                joining |= staves
            else:
                across.add(onset)
            first = sheet.events[signs[0].id].before
            first.append(rf"\once \set {scope}connectArpeggios = ##t")
        for event in signs:
            before = sheet.events[event.id].before
            if len(staves) > 1:
                # else the staff would draw a second sign over its own voices
                before.append(r"\once \set Staff.connectArpeggios = ##f")
            before += _look(kind, scope)
            sheet.events[event.id].after.append(r"\arpeggio")
    return JoinedArpeggios(frozenset(joining), frozenset(across))


def _look(kind: str, scope: str) -> list[str]:
    if kind == "bracket":
        return [rf"\once \override {scope}Arpeggio.stencil = #ly:arpeggio::brew-chord-bracket"]
    if kind in ("up", "down"):
        way = "UP" if kind == "up" else "DOWN"
        return [rf"\once \override {scope}Arpeggio.arpeggio-direction = #{way}"]
    return []


def _is_within(event: Event, signs: Sequence[Event]) -> bool:
    """Whether a chord of another voice on the staff strikes the same note, and more.

    The two may then share a notehead, and the other's sign serves both.
    """
    return len(event.heads) == 1 and any(
        other.staff == event.staff
        and len(other.heads) > 1
        and any(head.pitch == event.heads[0].pitch for head in other.heads)
        for other in signs
        if other is not event
    )
