"""Before which element of a MusicXML bar a mark goes, so that every reader puts it right.

A ``<direction>`` belongs to the moment at which the cursor stands, and programs that read MusicXML
differ in how well they follow ``<offset>``. So a mark goes directly before a note that is struck
at its place, best on its own staff; else to where the cursor stands at its place; and only where
there is no such point does it stand before an earlier note with an offset.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.part import Event, HarpPart, Place
from pedalsetter.analysis.playing.moments import number_graces
from pedalsetter.analysis.reading.identities import Identities, elements_by_identity
from pedalsetter.analysis.reading.walk import Cursor

__all__ = ["Anchor", "Anchors"]


@dataclass(frozen=True, slots=True)
class Anchor:
    """Where in its bar a mark is written."""

    child: int | None
    """The child of the measure (elements only, from 0) that it goes before; None for the end."""
    offset: Fraction
    """From the cursor there to the mark, in divisions."""
    voice: str
    """The voice of the note before which it stands, on the mark's own staff; else empty."""
    missed: bool = False
    """No number of divisions reaches the place; ``offset`` is the nearest one."""


@dataclass(frozen=True, slots=True)
class _Station:
    """A point of a bar before which a direction may stand."""

    child: int | None
    at: Fraction
    """Quarters after the barline."""
    divisions: Fraction
    grace: int = 0
    staff: int = 0
    """0 where no note stands."""
    voice: str = ""
    visible: bool = True


class Anchors:
    """Finds the anchors of one part.

    ``element`` is the ``<part>`` into which marks go and ``staff`` the staff that they belong to,
    both as ``part`` was read from them.
    """

    def __init__(self, part: HarpPart, element: etree._Element, staff: int) -> None:
        self._id = element.get("id") or f"P{part.source.part_number}"
        self._staff = staff
        self._identities = Identities([element])
        self._measures = element.findall("measure")
        self._divisions = _divisions_at_barlines(self._measures)
        self._graces = number_graces(part)
        self._bars = part.bars
        self._homes = self._measures_of_bars(part, element)
        self._events: dict[int, dict[str, tuple[Fraction, Event]]] = defaultdict(dict)
        for event in part.events:
            measure, start = self._homes[event.bar]
            at = event.onset - part.bars[event.bar].start + start
            self._events[measure][event.id] = (at, event)
        self._known: dict[int, list[_Station]] = {}

    def measure_of(self, bar: int) -> int | None:
        """The measure that holds a bar, counted from 0; None if the document has none."""
        measure = self._homes[bar][0]
        return measure if measure < len(self._measures) else None

    def find(self, place: Place) -> Anchor:
        """The best point for a mark at ``place``, whose bar must have a measure."""
        measure, start = self._homes[place.bar]
        stations = self._known.get(measure)
        if stations is None:
            stations = self._known[measure] = self._stations(measure)
        offset = start + place.offset
        struck = [
            one for one in stations if one.staff and one.at == offset and one.grace >= place.grace
        ]
        if struck:
            best = min(
                struck,
                key=lambda one: (not self._own(one), not one.visible, one.grace),
            )
            return Anchor(best.child, Fraction(0), best.voice if self._own(best) else "")
        # Before a rest of another length, a gap, or the end; never into a group of grace notes.
        points = [one for one in stations if not one.grace]
        for one in points:
            if not one.staff and one.at == offset:
                return Anchor(one.child, Fraction(0), "")
        end = start + self._bars[place.bar].length
        inside = [one for one in points if start <= one.at < end]
        return self._by_offset(inside or points, offset)

    def _measures_of_bars(
        self, part: HarpPart, element: etree._Element
    ) -> list[tuple[int, Fraction]]:
        """(measure, quarters from its barline) of each bar.

        They are one and the same, but where the reader has cut a measure at a repeat sign inside.
        """
        if len(part.bars) == len(self._measures):
            return [(bar.index, Fraction(0)) for bar in part.bars]
        places = {each: place for place, each in enumerate(self._measures)}
        notes = elements_by_identity(element, self._id, self._identities)
        known: dict[int, int] = {}
        for event in part.events:
            measure = notes[event.id].getparent() if event.id in notes else None
            if measure is not None:
                known[event.bar] = places[measure]
        homes: list[tuple[int, Fraction]] = []
        last, reached = -1, Fraction(0)
        for bar in part.bars:
            measure_place = known.get(bar.index, last + 1)
            reached = reached if measure_place == last else Fraction(0)
            homes.append((measure_place, reached))
            last, reached = measure_place, reached + bar.length
        return homes

    def _own(self, station: _Station) -> bool:
        return station.staff == self._staff

    def _by_offset(self, points: list[_Station], offset: Fraction) -> Anchor:
        def rank(one: _Station) -> tuple[bool, bool, bool, bool, Fraction]:
            ticks = (offset - one.at) * one.divisions
            return (
                ticks.denominator != 1,
                not _is_decimal(ticks),
                one.at > offset,
                not self._own(one),
                abs(offset - one.at),
            )

        best = min(points, key=rank)
        ticks = (offset - best.at) * best.divisions
        voice = best.voice if self._own(best) else ""
        if _is_decimal(ticks):
            return Anchor(best.child, ticks, voice)
        return Anchor(best.child, Fraction(round(ticks)), voice, missed=True)

    def _stations(self, place: int) -> list[_Station]:
        """Every point of a measure before which a direction may stand, its end the last."""
        divisions = self._divisions[place]
        events = self._events[place]
        cursor = Cursor()
        notes = 0
        found: list[_Station] = []
        closing: int | None = None
        children = [child for child in self._measures[place] if isinstance(child.tag, str)]
        for index, child in enumerate(children):
            tag = child.tag
            if tag == "barline" and child.get("location", "right") == "right":
                closing = index if closing is None else closing
            elif tag == "attributes":
                divisions = _number(child.findtext("divisions")) or divisions
            elif tag == "note":
                notes += 1
                closing = None
                if child.find("chord") is not None:
                    continue
                name = self._identities.of(child, self._id, place + 1, "n", notes)
                known = events.get(name)
                length = exact = Fraction(0)
                if child.find("grace") is None:
                    length = _number(child.findtext("duration")) / divisions
                    exact = _exact_length(known, length, divisions)
                found.append(self._at_note(index, child, known, cursor.exact, divisions))
                cursor.move(length, exact)
            elif tag in ("backup", "forward"):
                closing = None
                found.append(_Station(index, cursor.exact, divisions))
                moved = _number(child.findtext("duration")) / divisions
                cursor.jump(moved if tag == "forward" else -moved)
        found.append(_Station(closing, cursor.exact, divisions))
        return found

    def _at_note(
        self,
        index: int,
        note: etree._Element,
        known: tuple[Fraction, Event] | None,
        cursor: Fraction,
        divisions: Fraction,
    ) -> _Station:
        if known is None:
            return _Station(index, cursor, divisions)
        at, event = known
        voice = (note.findtext("voice") or "").strip()
        grace = self._graces.get(event.id, 0)
        return _Station(index, at, divisions, grace, event.staff, voice, event.visible)


def _exact_length(
    known: tuple[Fraction, Event] | None, told: Fraction, divisions: Fraction
) -> Fraction:
    """The length that the reader gave a note whose own is rounded to a division; else its own."""
    if known is None or known[1].is_bar_rest:
        return told
    exact = known[1].length
    return exact if abs(exact - told) * divisions < 1 else told


def _divisions_at_barlines(measures: list[etree._Element]) -> list[Fraction]:
    now = Fraction(1)
    found = []
    for measure in measures:
        found.append(now)
        for divisions in measure.iterfind("attributes/divisions"):
            now = _number(divisions.text) or now
    return found


def _number(text: str | None) -> Fraction:
    try:
        return max(Fraction((text or "").strip()), Fraction(0))
    except (ValueError, ZeroDivisionError):
        return Fraction(0)


def _is_decimal(number: Fraction) -> bool:
    """Whether a decimal fraction of at most six places is exact."""
    return 10**6 % number.denominator == 0
