"""Ties, from head to head within a stream; what has no partner becomes a half tie."""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.part import Event, Head
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["add_ties"]


def add_ties(streams: Sequence[Stream], sheet: Sheet, notices: Notices) -> None:
    """Write ``~`` where the next event of the stream holds the same pitch.

    LilyPond ties only within one voice and to the very next note. A tie that leads into another
    stream, over a gap, or into a second ending is printed as a half tie at each end, which is how
    engravers write a tie whose other end is elsewhere.
    """
    reached: set[str] = set()
    for stream in streams:
        sounding = [event for event in stream.events if event.heads]
        for event, following in zip(sounding, [*sounding[1:], None], strict=False):
            starts = [head for head in event.heads if head.tie_start]
            joined = [
                head
                for head in starts
                if following is not None and _partner(event, head, following) is not None
            ]
            for head in joined:
                assert following is not None  # noqa: S101
                partner = _partner(event, head, following)
                if partner is not None:
                    reached.add(partner.id)
            if len(joined) == len(event.heads) and joined:
                sheet.events[event.id].after.append("~")
            else:
                for head in joined:
                    sheet.heads[head.id].after.append("~")
            for head in event.heads:
                if head.let_ring or (head.tie_start and head not in joined):
                    sheet.heads[head.id].after.append(r"\laissezVibrer")
                if head.tie_start and head not in joined and not head.let_ring:
                    _tell_if_lost(streams, event, head, notices)
    for stream in streams:
        for event in stream.events:
            for head in event.heads:
                if head.tie_stop and head.id not in reached:
                    sheet.heads[head.id].after.append(r"\repeatTie")


def _partner(event: Event, head: Head, following: Event) -> Head | None:
    """The head to which a tie leads, if the stream's next event begins where this one ends."""
    if following.onset != event.end:
        return None
    if event.grace is not None and event.grace.after and following.grace is not None:
        return None
    for other in following.heads:
        if other.pitch == head.pitch and other.tie_stop:
            return other
    return None


def _tell_if_lost(streams: Sequence[Stream], event: Event, head: Head, notices: Notices) -> None:
    """Notice a tie whose other end stands in another voice at the right moment."""
    for stream in streams:
        for other in stream.by_bar.get(event.bar, []) + stream.by_bar.get(event.bar + 1, []):
            if other.onset == event.end and any(
                partner.tie_stop and partner.pitch == head.pitch for partner in other.heads
            ):
                notices.at(
                    event, f"the tie on {head.pitch} leads into another voice: drawn as half ties"
                )
                return
