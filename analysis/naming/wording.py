"""Words that sentences of every kind share: lists, and what notes are called."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.instrument.respelling import strings_for
from pedalsetter.analysis.part import Event, HarpPart, Head, glissando_lines

__all__ = ["NotesByName", "bars_told", "likely", "listed", "many", "ornament_called", "short_name"]

_SHORT = 3
"""Letters of a name that a later system shows, where there is no usual abbreviation."""

_USUAL = {
    "flute": "Fl.",
    "piccolo": "Picc.",
    "oboe": "Ob.",
    "clarinet": "Cl.",
    "bassoon": "Bsn.",
    "horn": "Hn.",
    "trumpet": "Tpt.",
    "trombone": "Tbn.",
    "timpani": "Timp.",
    "harp": "Hp.",
    "violin": "Vln.",
    "viola": "Vla.",
    "cello": "Vc.",
    "violoncello": "Vc.",
    "contrabass": "Cb.",
}
"""English abbreviations as orchestral scores print them (common practice, no source)."""


def listed(names: Iterable[str]) -> str:
    """``F``, ``F and A``, ``F, A and C``: each name once, in order."""
    every = list(dict.fromkeys(names))
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} and {every[-1]}"


def likely(given: str, names: Iterable[str]) -> str:
    """``Did you mean 'sonata.mxl'?``, the name that is most like what was given; empty if none is.

    >>> likely("editon", ["edition", "study"])
    "Did you mean 'edition'?"
    """
    by_small = {name.casefold(): name for name in names}
    found = get_close_matches(given.casefold(), by_small, n=1)
    return f"Did you mean '{by_small[found[0]]}'?" if found else ""


def many(count: int, what: str) -> str:
    """``1 page``, ``2 pages``."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


_MOST_BARS = 12
"""Bars that one line names."""


def bars_told(bars: Sequence[str]) -> str:
    """``bar 3``, ``bars 3 and 5``; of many the first ones, and that there are others.

    >>> bars_told(["3"]), bars_told(["3", "5"]), bars_told([])
    ('bar 3', 'bars 3 and 5', '')
    """
    shown = bars if len(bars) <= _MOST_BARS else (*bars[:_MOST_BARS], "others")
    return f"bar{'' if len(bars) == 1 else 's'} {listed(shown)}" if bars else ""


class NotesByName:
    """What the notes of a part are called, by their ids.

    A pedal may be wanted by more than a note of its own letter: the neighbour that a trill adds
    and the strings that a glissando passes are written nowhere. Those are called by the sign.
    """

    def __init__(self, part: HarpPart) -> None:
        self._notes = {head.id: (event, head) for event, head in part.notes()}
        self._slides = {first.id: last.id for (_, first), (_, last) in glissando_lines(part.events)}
        self._starts = {stop: start for start, stop in self._slides.items()}

    def names(self, notes: Sequence[str], letter: Letter, position: Position) -> list[str]:
        """What wants a position of a letter, lowest first, each once."""
        found = sorted(map(self._notes.__getitem__, notes), key=lambda one: one[1].pitch.midi)
        return list(dict.fromkeys(self._name(*one, letter, position) for one in found))

    def told(self, notes: Sequence[str], letter: Letter, position: Position) -> str:
        """The same in a row: ``D4 and the trill on E4``."""
        return listed(self.names(notes, letter, position))

    def _name(self, event: Event, head: Head, letter: Letter, position: Position) -> str:
        pitch = head.pitch
        if pitch.letter is letter and pitch.alter == position:
            return str(pitch)
        if any(one.letter is letter and one.position is position for one in strings_for(pitch)):
            return str(pitch)
        return self._longer(event, head) or str(pitch)

    def longer(self, notes: Sequence[str]) -> str:
        """What these notes do that is more than a stroke: ``the trill on D5``; empty if nothing."""
        return listed(filter(None, (self._longer(*self._notes[note]) for note in notes)))

    def _longer(self, event: Event, head: Head) -> str:
        first = self._starts.get(head.id, head.id)
        if first in self._slides:
            last = self._notes[self._slides[first]][1]
            return f"the glissando from {self._notes[first][1].pitch} to {last.pitch}"
        sign = ornament_called(event) or ("tremolo" if event.tremolo is not None else "")
        return f"the {sign} on {head.pitch}" if sign else ""


def ornament_called(event: Event) -> str:
    """What adds notes or strokes to the event, ``trill`` or the like; empty if nothing does."""
    kinds = {ornament.kind for ornament in event.ornaments}
    kinds |= {end.kind for end in event.spanners if end.start}
    for part_of_kind, name in (
        ("trill", "trill"),
        ("shake", "trill"),
        ("wavy-line", "trill"),
        ("turn", "turn"),
        ("haydn", "turn"),
        ("mordent", "mordent"),
    ):
        if any(part_of_kind in kind for kind in kinds):
            return name
    return "tremolo" if event.tremolo is not None and event.tremolo.alone else ""


def short_name(name: str) -> str:
    """A name for the later systems: its first letters and its number, as in *Vln. II*.

    Of two words both are shortened; what follows *in* is the key of the instrument, which needs no
    second saying.

    >>> names = ("Flute", "Clarinet in B♭", "Violin II", "Double Bass", "Harp")
    >>> [short_name(name) for name in names]
    ['Fl.', 'Cl.', 'Vln. II', 'D. B.', 'Hp.']
    """
    words = re.split(r"\s+(?:in|en)\s+", name.strip(), maxsplit=1)[0].split()
    plain = [word for word in words if not re.fullmatch(r"[IVX]+|\d+\.?", word)]
    numbers = words[len(plain) :] if words[: len(plain)] == plain else []
    if len(plain) > 1:
        return " ".join([*(f"{word[0]}." for word in plain), *numbers])
    return " ".join([*(_shortened(word) for word in plain), *numbers])


def _shortened(word: str) -> str:
    """The usual abbreviation of a name, or its first letters."""
    if len(word) <= _SHORT:
        return word
    known = _USUAL.get(word.casefold())
    return known or f"{word[:_SHORT]}."
