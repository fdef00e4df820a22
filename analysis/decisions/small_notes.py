"""What the musician has decided about small notes: played, or a cue that only guides the harp."""

from __future__ import annotations

from dataclasses import replace

from pedalsetter.analysis.decisions.values import Decisions, SmallNotesPin
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import DecisionResult

__all__ = ["with_small_notes"]


def with_small_notes(
    part: HarpPart, decisions: Decisions
) -> tuple[HarpPart, tuple[DecisionResult, ...]]:
    """The part with its small notes as decided, and what became of each decision.

    Of two decisions about the same notes the earlier one holds.
    """
    results = []
    decided: dict[str, bool] = {}
    for pin in decisions.small_notes:
        bars, why = _bars(part, pin)
        found = [
            event
            for event in part.events
            if event.bar in bars
            and event.small
            and event.heads
            and pin.staff in (None, event.staff)
        ]
        if not why and not found:
            why = "no small notes stand there"
        place = part.place_of(found[0]) if found else None
        results.append(DecisionResult(str(pin), place, why))
        for event in found:
            decided.setdefault(event.id, not pin.sounds)
    if not decided:
        return part, tuple(results)
    events = tuple(
        replace(event, cue=decided[event.id]) if event.id in decided else event
        for event in part.events
    )
    return replace(part, events=events), tuple(results)


def _bars(part: HarpPart, pin: SmallNotesPin) -> tuple[range, str]:
    """Indices of the bars that are meant, or why there are none."""
    movements = sorted({bar.movement for bar in part.bars})
    if pin.movement is not None and pin.movement > len(movements):
        return range(0), f"there is no movement {pin.movement}"
    wanted = None if pin.movement is None else movements[pin.movement - 1]
    ends = []
    for number in pin.bars:
        same = [
            bar.index
            for bar in part.bars
            if bar.number == number and wanted in (None, bar.movement)
        ]
        if not same:
            return range(0), f"there is no bar {number}"
        ends.append(same)
    return range(ends[0][0], ends[1][-1] + 1), ""
