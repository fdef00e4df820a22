"""Signs of single noteheads: accidentals the engraver would not print, shapes, fingerings."""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.harp import Letter
from pedalsetter.analysis.part import Event, HarpPart, Head
from pedalsetter.engrave.notation.escaping import quoted
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["add_heads"]

_SHAPES = {
    "diamond": "harmonic",
    "x": "cross",
    "cross": "cross",
    "circle-x": "xcircle",
    "slash": "slash",
    "slashed": "slash",
    "triangle": "do",
    "inverted triangle": "ti",
    "square": "la",
    "rectangle": "la",
    "do": "do",
    "re": "re",
    "mi": "mi",
    "fa": "fa",
    "fa up": "fa",
    "so": "sol",
    "la": "la",
    "ti": "ti",
}
"""MusicXML's ``notehead`` values as LilyPond's styles (Notation Reference, "Note head styles")."""


def add_heads(part: HarpPart, streams: Sequence[Stream], sheet: Sheet, notices: Notices) -> None:
    """Write accidentals that the source prints on its own, head shapes, brackets, fingerings."""
    _add_accidentals(part, sheet)
    for stream in streams:
        for event in stream.events:
            for head in event.heads:
                _shape(event, head, sheet, notices)
                for finger in head.fingerings:
                    digit = finger.strip()
                    sheet.heads[head.id].after.append(
                        f"-{digit}"
                        if digit.isascii() and digit.isdigit() and len(digit) == 1
                        else rf"\finger {quoted(digit)}"
                    )


def _shape(event: Event, head: Head, sheet: Sheet, notices: Notices) -> None:
    tweaks = sheet.heads[head.id].tweaks
    if head.parentheses:
        tweaks.append(r"\parenthesize")
    if head.shape == "none":
        tweaks.append(r"\tweak stencil ##f")
    elif head.shape in _SHAPES:
        tweaks.append(rf"\tweak style #'{_SHAPES[head.shape]}")
    elif head.shape != "normal":
        notices.at(event, f"the notehead '{head.shape}' has no form here: an ordinary one instead")


def _add_accidentals(part: HarpPart, sheet: Sheet) -> None:
    """Mark each accidental of the source that LilyPond's default style would not print.

    By that style a sign holds to the end of the bar, in its octave and staff (Notation Reference,
    "Automatic accidentals"). Signs that LilyPond prints are left to it; parentheses are asked for
    in any case.
    """
    keys = sorted(part.keys, key=lambda change: change.onset)
    for staff in range(1, part.staves + 1):
        own = [key for key in keys if key.staff in (None, staff)]
        signature: dict[Letter, int] = {}
        memory: dict[tuple[Letter, int], int] = {}
        bar = -1
        upcoming = 0
        tied: set[tuple[Letter, int, int]] = set()
        for event in part.events:
            if event.staff != staff:
                continue
            while upcoming < len(own) and own[upcoming].onset <= event.onset:
                signature = _signature(own[upcoming].fifths)
                memory.clear()
                upcoming += 1
            if event.bar != bar:
                memory.clear()
                bar = event.bar
            for head in event.heads:
                pitch = head.pitch
                place = (pitch.letter, pitch.octave)
                known = memory.get(place, signature.get(pitch.letter, 0))
                continued = head.tie_stop and (*place, pitch.alter) in tied
                printed = known != pitch.alter and not continued
                if head.accidental in ("parentheses", "brackets"):
                    sheet.heads[head.id].mark = "?"
                elif head.accidental is not None and not printed:
                    sheet.heads[head.id].mark = "!"
                if not continued or printed:
                    memory[place] = pitch.alter
                tied.discard((*place, pitch.alter))
                if head.tie_start:
                    tied.add((*place, pitch.alter))


def _signature(fifths: int) -> dict[Letter, int]:
    letters = "FCGDAEB"[:fifths] if fifths > 0 else "BEADGCF"[: max(-fifths, 0)]
    return {Letter(letter): 1 if fifths > 0 else -1 for letter in letters}
