"""Glissandi and slides, from the note where they start to the one where they end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pedalsetter.analysis.part import Event, Head, SpannerEnd
from pedalsetter.engrave.notation.escaping import markup
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["add_glissandi"]

_KINDS = ("glissando", "slide")
_STYLES = {"solid": "line", "dashed": "dashed-line", "dotted": "dotted-line", "wavy": "zigzag"}


def add_glissandi(streams: Sequence[Stream], sheet: Sheet, notices: Notices) -> None:
    r"""Write ``\glissando`` where the end stands in the same stream, with the source's text.

    LilyPond leads a glissando to the next note; notes on the way are told to be passed over.
    """
    for stream in streams:
        notes = [event for event in stream.events if event.heads]
        for index, event in enumerate(notes):
            lines: dict[int, list[tuple[int, int]]] = {}
            style = ""
            for position, head, start in _ends(event, True):
                stop = _find_stop(notes, index, start, position)
                if start.text:
                    text = markup(start.text, [r"\italic", r"\small"])
                    _add_once(sheet.events[event.id].after, rf"^\markup {text}")
                if stop is None:
                    notices.at(event, f"the {start.kind} from {head.pitch} has no end in its voice")
                    continue
                target, place = stop
                lines.setdefault(target, []).append((position, place))
                style = _STYLES.get(start.line, "line")
            if not lines:
                continue
            if len(lines) > 1:
                notices.at(event, "glissandi to different moments are drawn to the first of them")
            target = min(lines)
            signs = sheet.events[event.id]
            if style != "line":
                signs.before.append(rf"\once \override Glissando.style = #'{style}")
            if len(event.heads) > 1 or len(notes[target].heads) > 1:
                pairs = " ".join(f"({a} . {b})" for a, b in sorted(lines[target]))
                signs.before.append(rf"\once \set glissandoMap = #'({pairs})")
            if target > index + 1:
                between = notes[index + 1 : target]
                for passed in between:
                    sheet.events[passed.id].before.append(
                        r"\once \override NoteColumn.glissando-skip = ##t"
                    )
            signs.after.append(r"\glissando")


def _add_once(texts: list[str], text: str) -> None:
    if text not in texts:
        texts.append(text)


def _ends(event: Event, start: bool) -> Iterator[tuple[int, Head, SpannerEnd]]:
    """Glissando ends at an event, each with the place of its head in the chord.

    An end that the source gives to the whole event counts for its lowest head.
    """
    for position, head in enumerate(event.heads):
        for end in head.spanners:
            if end.kind in _KINDS and end.start is start:
                yield position, head, end
    for end in event.spanners:
        if end.kind in _KINDS and end.start is start:
            yield 0, event.heads[0], end


def _find_stop(
    notes: Sequence[Event], index: int, start: SpannerEnd, position: int
) -> tuple[int, int] | None:
    for target in range(index + 1, len(notes)):
        places = [
            place
            for place, _, end in _ends(notes[target], False)
            if end.kind == start.kind and end.number == start.number
        ]
        if places:
            return target, places[0] if position not in places else position
        if any(
            end.kind == start.kind and end.number == start.number
            for _, _, end in _ends(notes[target], True)
        ):
            return None
    return None
