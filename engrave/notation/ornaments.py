"""Trills and their lines, mordents, turns, tremolo strokes on one note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pedalsetter.analysis.part import Event, Ornament, SpannerEnd
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["add_ornaments"]

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
    """Write the ornaments of every note, and trill lines from start to end."""
    for stream in streams:
        lined = _trill_lines(stream, sheet, notices)
        for event in stream.events:
            after = sheet.events[event.id].after
            for ornament in event.ornaments:
                if ornament.kind == "trill-mark" and event.id in lined and _plain(ornament):
                    continue
                command = _COMMANDS.get(ornament.kind)
                if command is None:
                    notices.at(event, f"the ornament '{ornament.kind}' has no form here: left out")
                elif event.heads:
                    after.append(_sign(command, ornament))
            if event.tremolo is not None and event.heads:
                if event.tremolo.kind == "single" and 1 <= event.tremolo.marks <= 5:
                    flags = max(event.notated.log - 2, 0) if event.notated is not None else 0
                    after.insert(0, f":{2 ** (event.tremolo.marks + 2 + flags)}")
                elif event.tremolo.kind == "unmeasured":
                    notices.at(event, "an unmeasured tremolo is printed with three strokes")
                    flags = max(event.notated.log - 2, 0) if event.notated is not None else 0
                    after.insert(0, f":{2 ** (5 + flags)}")


def _plain(ornament: Ornament) -> bool:
    return ornament.above is None and ornament.below is None


def _sign(command: str, ornament: Ornament) -> str:
    direction = {"above": "^", "below": "_"}.get(ornament.placement or "", "")
    if _plain(ornament):
        return direction + command
    # accidentals stand over and under the sign in one column, so nothing comes between them
    rows = [r"\override #'(baseline-skip . 1.4)", r"\center-column {"]
    if ornament.above is not None:
        rows.append(rf"\teeny {_ACCIDENTALS[ornament.above]}")
    rows.append(rf'\musicglyph "{_GLYPHS[command]}"')
    if ornament.below is not None:
        rows.append(rf"\teeny {_ACCIDENTALS[ornament.below]}")
    return f"{direction or '^'}\\markup {' '.join(rows)} }}"


def _trill_lines(stream: Stream, sheet: Sheet, notices: Notices) -> set[str]:
    """Draw the wavy lines of a stream; the ids of the events at which one starts.

    LilyPond ends a line before the note that carries its end, MusicXML at the note that it still
    covers, so the end is written on the event behind it.
    """
    begun: set[str] = set()
    running: Event | None = None
    events = [event for event in stream.events if event.grace is None]
    for place, event in enumerate(events):
        following = events[place + 1] if place + 1 < len(events) else None
        if not any(end.kind == "wavy-line" for end in event.spanners):
            continue
        ends = _ends_of(event, events[place + 1 :])
        for end in sorted(ends, key=lambda end: not end.start):
            if end.start and running is None and event.heads:
                if following is None:
                    notices.at(event, "a trill line on the last note is left out")
                    continue
                if not any(ornament.kind == "trill-mark" for ornament in event.ornaments):
                    sheet.events[event.id].before.append(
                        r"\once \override TrillSpanner.bound-details.left.text = ##f"
                    )
                sheet.events[event.id].after.append(r"\startTrillSpan")
                begun.add(event.id)
                running = event
            elif not end.start and running is not None:
                if following is not None:
                    sheet.events[following.id].after.insert(0, r"\stopTrillSpan")
                running = None
    return begun


def _ends_of(event: Event, later: Sequence[Event]) -> list[SpannerEnd]:
    """The ends of trill lines at an event; a line that nothing ends covers this event alone."""
    ends = [end for end in event.spanners if end.kind == "wavy-line"]
    for end in list(ends):
        if end.start and not any(
            other.kind == "wavy-line" and not other.start and other.number == end.number
            for candidate in (event, *later)
            for other in candidate.spanners
        ):
            ends.append(replace(end, start=False))
    return ends
