"""Signs of single noteheads: accidentals the engraver would not print, shapes, fingerings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import Enum

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.part import Event, HarpPart, Head
from pedalsetter.engrave.notation.escaping import quoted
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.slurs import moments_of
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["Need", "add_heads", "needed_accidentals", "signature_of"]

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

    Signs that LilyPond prints are left to it; parentheses are asked for in any case.
    """
    for _, head, need in needed_accidentals(part):
        if head.accidental in ("parentheses", "brackets"):
            sheet.heads[head.id].mark = "?"
        elif head.accidental is not None and need is not Need.YES:
            sheet.heads[head.id].mark = "!"


_UNKNOWN = 9
"""No alteration of any note."""


class Need(Enum):
    """Whether a head has an accidental by LilyPond's default style."""

    YES = "yes"
    NO = "no"
    OPEN = "open"
    """Two voices gave its place different alterations at one moment, of which one holds, or a tie
    from the bar before did."""


def needed_accidentals(part: HarpPart) -> Iterator[tuple[Event, Head, Need]]:
    """Every head, and whether LilyPond's default style gives it an accidental.

    By that style a sign holds to the end of the bar, in its octave and staff; what is struck
    together is judged by what was before (Notation Reference, "Automatic accidentals").
    """
    keys = sorted(part.keys, key=lambda change: change.onset)
    for staff in range(1, part.staves + 1):
        own = [key for key in keys if key.staff in (None, staff)]
        signature: dict[Letter, int] = {}
        memory: dict[tuple[Letter, int], int | None] = {}
        bar = -1
        upcoming = 0
        tied: set[tuple[Letter, int, int]] = set()
        for moment in moments_of(event for event in part.events if event.staff == staff):
            first = moment[0]
            while upcoming < len(own) and own[upcoming].onset <= first.onset:
                signature = signature_of(own[upcoming].fifths)
                memory.clear()
                upcoming += 1
            if first.bar != bar:
                memory.clear()
                bar = first.bar
            struck: dict[tuple[Letter, int], set[int]] = {}
            ending: set[tuple[Letter, int, int]] = set()
            starting: set[tuple[Letter, int, int]] = set()
            for event, head in ((one, head) for one in moment for head in one.heads):
                pitch = head.pitch
                place = (pitch.letter, pitch.octave)
                known = memory.get(place, signature.get(pitch.letter, 0))
                continued = head.tie_stop and (*place, pitch.alter) in tied
                need = Need.NO if continued or known == pitch.alter else Need.YES
                yield event, head, Need.OPEN if known is None and not continued else need
                if not continued:
                    struck.setdefault(place, set()).add(pitch.alter)
                elif pitch.alter != signature.get(pitch.letter, 0):
                    # the engraver leaves open what holds after a tie from the bar before
                    struck.setdefault(place, set()).update((pitch.alter, _UNKNOWN))
                ending.add((*place, pitch.alter))
                if head.tie_start:
                    starting.add((*place, pitch.alter))
            for place, alters in struck.items():
                memory[place] = alters.pop() if len(alters) == 1 else None
            tied -= ending
            tied |= starting


def signature_of(fifths: int) -> dict[Letter, int]:
    """What a key signature alters, in semitones."""
    letters = "FCGDAEB"[:fifths] if fifths > 0 else "BEADGCF"[: max(-fifths, 0)]
    return {Letter(letter): 1 if fifths > 0 else -1 for letter in letters}
