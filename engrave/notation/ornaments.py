"""Trills and their lines, mordents, turns, tremolo strokes on one note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.part import Event, Ornament
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["ORNAMENTS", "TrillLine", "add_ornaments", "trill_lines"]

_COMMANDS = {
    "trill-mark": r"\trill",
    "mordent": r"\mordent",
    "inverted-mordent": r"\prall",
    "turn": r"\turn",
    "delayed-turn": r"\turn",
    "inverted-turn": r"\reverseturn",
    "delayed-inverted-turn": r"\reverseturn",
    "inverted-vertical-turn": r"\slashturn",
    "vertical-turn": r"\slashturn",
    "haydn": r"\haydnturn",
    "shake": r"\prallprall",
}
"""MusicXML's ``ornaments`` as LilyPond's scripts."""

ORNAMENTS = frozenset(_COMMANDS)
"""Those that have a form here, by MusicXML's names."""

_GLYPHS = {
    r"\trill": "scripts.trill",
    r"\mordent": "scripts.mordent",
    r"\prall": "scripts.prall",
    r"\turn": "scripts.turn",
    r"\reverseturn": "scripts.reverseturn",
    r"\slashturn": "scripts.slashturn",
    r"\haydnturn": "scripts.haydnturn",
    r"\prallprall": "scripts.prallprall",
}

_ACCIDENTALS = {
    -2: r"\doubleflat",
    -1: r"\flat",
    0: r"\natural",
    1: r"\sharp",
    2: r"\doublesharp",
}

_DELAYED = ("delayed-turn", "delayed-inverted-turn")


def add_ornaments(streams: Sequence[Stream], sheet: Sheet, notices: Notices) -> None:
    """Write the ornaments of every note; trill lines are drawn beside the notes."""
    lined = {line.start.id for line in trill_lines(streams)}
    for stream in streams:
        for event in stream.events:
            after = sheet.events[event.id].after
            for ornament in event.ornaments:
                if ornament.kind == "trill-mark" and event.id in lined:
                    continue
                command = _COMMANDS.get(ornament.kind)
                if command is None:
                    notices.at(event, f"the ornament '{ornament.kind}' has no form here: left out")
                elif event.heads:
                    after.append(_sign(command, ornament))
            if event.tremolo is not None and event.heads:
                if event.tremolo.kind == "single" and 1 <= event.tremolo.marks <= 5:
                    flags = event.notated.flags if event.notated is not None else 0
                    after.insert(0, f":{2 ** (event.tremolo.marks + 2 + flags)}")
                elif event.tremolo.kind == "unmeasured":
                    notices.at(event, "an unmeasured tremolo is printed with three strokes")
                    flags = event.notated.flags if event.notated is not None else 0
                    after.insert(0, f":{2 ** (5 + flags)}")


def _plain(ornament: Ornament) -> bool:
    return ornament.above is None and ornament.below is None


def _sign(command: str, ornament: Ornament) -> str:
    direction = {"above": "^", "below": "_"}.get(ornament.placement or "", "")
    if _plain(ornament):
        return direction + command
    return f"{direction or '^'}\\markup {_column(command, ornament)}"


def _beside(trill: Ornament) -> str:
    """A *tr* with its accidentals, on the line that follows it."""
    sign = r'\center-align \musicglyph "scripts.trill"'
    for alter, side in ((trill.above, "UP"), (trill.below, "DOWN")):
        if alter is not None:
            accidental = rf"\center-align \teeny {_ACCIDENTALS[alter]}"
            sign = rf"\put-adjacent #Y #{side} {sign} {accidental}"
    return sign


def _column(command: str, ornament: Ornament) -> str:
    """Accidentals over and under a sign in one column, so that nothing comes between them."""
    rows = [r"\override #'(baseline-skip . 1.4)", r"\center-column {"]
    if ornament.above is not None:
        rows.append(rf"\teeny {_ACCIDENTALS[ornament.above]}")
    rows.append(rf'\musicglyph "{_GLYPHS[command]}"')
    if ornament.below is not None:
        rows.append(rf"\teeny {_ACCIDENTALS[ornament.below]}")
    return " ".join([*rows, "}"])


@dataclass(frozen=True, slots=True)
class TrillLine:
    """The wavy line behind a trill."""

    start: Event
    end: Fraction
    """Where it ends, in quarters of score time: where its last note does."""
    sign: bool
    """Whether it begins with *tr*."""
    text: str = ""
    """Markup of a *tr* with accidentals; empty for the engraver's own."""


def trill_lines(streams: Sequence[Stream]) -> tuple[TrillLine, ...]:
    """All trill lines; one that nothing ends covers its own note, none leaves its staff."""
    lines = []
    for stream in streams:
        events = [event for event in stream.events if event.grace is None]
        for place, event in enumerate(events):
            for end in event.spanners:
                if end.kind == "wavy-line" and end.start and event.heads:
                    last = _last_of_line(events, place, end.number)
                    trills = [each for each in event.ornaments if each.kind == "trill-mark"]
                    marked = [each for each in trills if not _plain(each)]
                    text = _beside(marked[0]) if marked else ""
                    lines.append(TrillLine(event, last.end, bool(trills), text))
    return tuple(lines)


def _last_of_line(events: Sequence[Event], place: int, number: int) -> Event:
    last = first = events[place]
    for event in events[place:]:
        if event.staff != first.staff:
            return last
        last = event
        for end in event.spanners:
            if end.kind == "wavy-line" and end.number == number:
                if not end.start:
                    return event
                if event is not first:
                    return first
    return first
