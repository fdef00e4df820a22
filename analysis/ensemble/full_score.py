"""The harp among the other parts: a whole score, or the harp with cue lines, as one value.

All parts are read by the one reader, each at the pitch that sounds, so that the score is one "in
C". They are joined to a single :class:`HarpPart` with more staves, because only then do all of them
agree on bars, graces and moments when they are engraved.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pedalsetter.analysis.errors import PartError, ScoreError
from pedalsetter.analysis.part import (
    FOR_ALL_STAVES,
    Arpeggio,
    ClefChange,
    Direction,
    Event,
    HarpPart,
    Head,
    KeyChange,
    Notice,
    SpannerEnd,
    TupletGroup,
)
from pedalsetter.analysis.reading.harp_part import read_score, score_bytes

__all__ = ["FullScore", "Player", "joined", "read_full_score"]

_MOST_PARTS = 64

_USUAL_OCTAVES = (
    (r"contra-?bassoon|double bassoon|kontrafagott|contrebasson|controfagotto|contrafagot", 1),
    (r"double ?bass|contra-?bass|kontrabass|contrebasse|contrabbasso|contrabajo", 1),
    (r"piccolo|ottavino|flaut[ií]n|xylophon|silofono|xil[oó]fono|celesta|c[eé]lesta", -1),
    (r"glockenspiel|campanelli|jeu de timbres|carill[oó]n", -2),
)
"""Names, and how many octaves above its sound the instrument is written (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Player:
    """One part of the score and the staves that it has there."""

    name: str
    first: int
    """Its upper staff, counted from 1 in the whole score."""
    staves: int
    harp: bool
    octaves: int = 0
    """How many octaves above its sound it is usually written, also in a score in C; below 0 under
    it."""


@dataclass(frozen=True, slots=True)
class FullScore:
    """Several parts as one."""

    part: HarpPart
    """All staves together. Notes of the harp keep their ids, those of others do not."""
    players: tuple[Player, ...]
    """From the top of the page."""

    @property
    def harp(self) -> Player:
        """The harp's own place."""
        return next(player for player in self.players if player.harp)


def read_full_score(
    path: str | os.PathLike[str], harp: HarpPart, cues: Sequence[str] = ()
) -> FullScore:
    """Read the parts beside ``harp`` from its score, or only the ``cues``: names or numbers.

    A part whose bars are not those of the harp is left out, with a notice.

    Raises:
        ScoreError: the file cannot be read.
        PartError: a cue names no part, or the harp itself.
    """
    data, file = score_bytes(path), Path(path).name
    found: list[HarpPart] = []
    for asked in cues or (str(number) for number in range(1, _MOST_PARTS + 1)):
        try:
            part = read_score(data, file, asked)
        except PartError:
            if cues:
                raise
            break
        if _is_the_harp(part, harp):
            if cues:
                raise PartError(f"part '{asked}' is the harp itself", file=file)
        elif part not in found:
            found.append(part)
    return joined(harp, found)


def joined(harp: HarpPart, others: Iterable[HarpPart]) -> FullScore:
    """Join parts of one score in the order of the score.

    Raises:
        ScoreError: there is no bar at all.
    """
    if not harp.bars:
        raise ScoreError("the part has no bars", file=harp.source.file)
    warnings = list(harp.warnings)
    fitting = []
    bars = [(bar.start, bar.length) for bar in harp.bars]
    for part in others:
        if [(bar.start, bar.length) for bar in part.bars] == bars:
            fitting.append(part)
        else:
            warnings.append(Notice(f"{_name(part)} has other bars than the harp and is left out"))
    parts = sorted([harp, *fitting], key=lambda part: part.source.part_number)
    players: list[Player] = []
    events: list[Event] = []
    directions: list[Direction] = []
    clefs: list[ClefChange] = []
    keys: list[KeyChange] = []
    above = 0
    for part in parts:
        own = part is harp
        players.append(Player(_name(part), above + 1, part.staves, own, _octaves(part)))
        mark = "" if own else f"{part.source.part_number}:"
        number = 0 if own else 100 * part.source.part_number
        events += [_event(event, mark, number, above) for event in part.events]
        directions += [
            replace(
                direction,
                id=mark + direction.id,
                staff=_staff(direction.staff, above, part.staves),
                number=direction.number + number,
            )
            for direction in part.directions
            if own or direction.kind not in FOR_ALL_STAVES
        ]
        clefs += [replace(clef, staff=clef.staff + above) for clef in part.clefs]
        keys += [
            replace(key, staff=staff + above, fifths=_fifths(part, key, harp))
            for key in part.keys
            for staff in range(1, part.staves + 1)
            if key.staff in (None, staff)
        ]
        above += part.staves
    whole = replace(
        harp,
        staves=above,
        events=tuple(
            sorted(events, key=lambda one: (one.onset, one.grace is None, one.staff, one.voice))
        ),
        directions=tuple(directions),
        clefs=tuple(clefs),
        keys=tuple(keys),
        warnings=tuple(warnings),
    )
    return FullScore(whole, tuple(players))


def _is_the_harp(part: HarpPart, harp: HarpPart) -> bool:
    """Whether this is the harp, or one of the two halves from which it was joined."""
    if part.source.part_number == harp.source.part_number:
        return True
    own = [(event.onset, head.pitch) for event, head in part.notes()]
    return bool(own) and any(
        own == [(e.onset, head.pitch) for e, head in harp.notes() if e.staff == staff]
        for staff in range(1, harp.staves + 1)
    )


def _is_transposed(part: HarpPart) -> bool:
    return any("the part is transposed" in notice.what for notice in part.warnings)


def _fifths(part: HarpPart, key: KeyChange, harp: HarpPart) -> int:
    """The signature that is printed: an open key of horns, timpani and the like stays open.

    Transposed to its sound, a signature of the source is that of the harp; one that is not was an
    open key.
    """
    heard = [other for other in harp.keys if other.onset <= key.onset and other.staff in (None, 1)]
    if not _is_transposed(part) or not heard or (key.fifths - heard[-1].fifths) % 12 == 0:
        return key.fifths
    return 0


def _octaves(part: HarpPart) -> int:
    """Where a part is usually written, if its source has transposed it; else it is as written."""
    if not _is_transposed(part):
        return 0
    name = part.part_name.casefold()
    return next((octaves for named, octaves in _USUAL_OCTAVES if re.search(named, name)), 0)


def _name(part: HarpPart) -> str:
    return part.part_name or f"Part {part.source.part_number}"


def _staff(staff: int | None, above: int, staves: int) -> int:
    """The staff in the whole score; what belongs to no staff stands at the part's upper one."""
    return min(staff or 1, staves) + above


def _event(event: Event, mark: str, number: int, above: int) -> Event:
    return replace(
        event,
        id=mark + event.id,
        staff=event.staff + above,
        voice=f"{above}:{event.voice}",
        heads=tuple(_head(head, mark, number) for head in event.heads),
        tuplets=tuple(_tuplet(group, mark) for group in event.tuplets),
        spanners=tuple(_end(end, number) for end in event.spanners),
        arpeggio=None if event.arpeggio is None else _arpeggio(event.arpeggio, number),
    )


def _head(head: Head, mark: str, number: int) -> Head:
    return replace(
        head, id=mark + head.id, spanners=tuple(_end(end, number) for end in head.spanners)
    )


def _tuplet(group: TupletGroup, mark: str) -> TupletGroup:
    return replace(group, id=mark + group.id)


def _end(end: SpannerEnd, number: int) -> SpannerEnd:
    return replace(end, number=end.number + number)


def _arpeggio(arpeggio: Arpeggio, number: int) -> Arpeggio:
    return replace(arpeggio, number=arpeggio.number + number)
