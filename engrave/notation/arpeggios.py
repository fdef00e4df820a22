"""Arpeggio signs, on one chord or across voices and staves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.part import Arpeggio, Event, HarpPart
from pedalsetter.engrave.notation.sheet import Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["add_arpeggios"]


def add_arpeggios(part: HarpPart, streams: Sequence[Stream], sheet: Sheet) -> None:
    """Write ``\\arpeggio``; signs of one number at one moment become a single sign."""
    moments: dict[tuple[Fraction, int], list[tuple[Event, Arpeggio]]] = defaultdict(list)
    for stream in streams:
        for event in stream.events:
            if event.arpeggio is not None and event.heads:
                moments[event.onset, event.arpeggio.number].append((event, event.arpeggio))
    for found in moments.values():
        signs = _without_merged(found)
        # the PianoStaff joins signs of all its voices; a single Staff has no engraver for it
        joined = len(signs) > 1 and part.staves > 1
        scope = "PianoStaff." if joined else ""
        for index, (event, arpeggio) in enumerate(signs):
            before = sheet.events[event.id].before
            if joined and index == 0:
                before.append(r"\once \set PianoStaff.connectArpeggios = ##t")
            if arpeggio.kind == "bracket":
                before.append(
                    rf"\once \override {scope}Arpeggio.stencil = #ly:arpeggio::brew-chord-bracket"
                )
            elif arpeggio.kind in ("up", "down"):
                way = "UP" if arpeggio.kind == "up" else "DOWN"
                before.append(rf"\once \override {scope}Arpeggio.arpeggio-direction = #{way}")
            sheet.events[event.id].after.append(r"\arpeggio")


def _without_merged(
    signs: list[tuple[Event, Arpeggio]],
) -> list[tuple[Event, Arpeggio]]:
    """The signs of chords that keep a notehead of their own.

    A note that another voice of the staff strikes too may share its head, and then has none that
    a sign could stand before; the other voice's sign serves both.
    """
    kept: list[tuple[Event, Arpeggio]] = []
    for event, arpeggio in sorted(signs, key=lambda sign: -len(sign[0].heads)):
        others = {
            head.pitch for other, _ in kept if other.staff == event.staff for head in other.heads
        }
        if not all(head.pitch in others for head in event.heads):
            kept.append((event, arpeggio))
    return kept
