"""The whole score without pedal marks: ``HarpPart`` in, contexts for LilyPond out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.engrave.notation import engraver_score as es
from pedalsetter.engrave.notation.arpeggios import add_arpeggios
from pedalsetter.engrave.notation.articulations import add_articulations
from pedalsetter.engrave.notation.beams import add_beams, crossed_bars
from pedalsetter.engrave.notation.glissandi import add_glissandi
from pedalsetter.engrave.notation.heads import add_heads
from pedalsetter.engrave.notation.knees import distance_for_knees
from pedalsetter.engrave.notation.lyrics import build_lyrics
from pedalsetter.engrave.notation.ornaments import add_ornaments, trill_lines
from pedalsetter.engrave.notation.remedied import AS_WRITTEN, Remedied
from pedalsetter.engrave.notation.seen import as_seen
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.slurs import add_slurs, pair_slurs
from pedalsetter.engrave.notation.staff_signs import build_staff_signs
from pedalsetter.engrave.notation.streams import (
    Stream,
    make_streams,
    staff_name,
)
from pedalsetter.engrave.notation.string_names import add_string_names
from pedalsetter.engrave.notation.threading import follow_links
from pedalsetter.engrave.notation.ties import add_ties
from pedalsetter.engrave.notation.timeline import BarUnit
from pedalsetter.engrave.notation.timing_lane import build_timing_lane
from pedalsetter.engrave.notation.voices import build_voices

__all__ = ["NotatedScore", "build_score"]


@dataclass(frozen=True, slots=True)
class NotatedScore:
    """The engraver's score of one part, marks excluded.

    Both contexts are abjad trees; :func:`~pedalsetter.engrave.notation.engraver_score.source`
    writes them. The timing lane must come first among the parallel contexts of the score.
    """

    staves: Any
    """A ``PianoStaff`` of ``Staff`` contexts named *upper* and *lower*, or a single ``Staff``."""
    timing: Any
    """The ``TimingLane`` context."""
    warnings: tuple[Notice, ...]
    """What could be engraved only in part, by place."""


def build_score(
    part: HarpPart,
    units: tuple[BarUnit, ...],
    *,
    source_systems: bool = False,
    string_names: Mapping[str, str] = MappingProxyType({}),
    remedied: Remedied = AS_WRITTEN,
) -> NotatedScore:
    """Build the score of a part over the given bars.

    ``units`` come from :func:`~pedalsetter.engrave.notation.timeline.bar_units`; every lane beside
    the score must use the same ones. With ``source_systems`` lines and pages break as in the
    source. ``string_names`` are the names of strings to print, as source, by the ids of their
    chords; ``remedied`` is what an earlier engraving has shown to be needed. Takes some 5 ms a bar.
    """
    part = as_seen(part)
    notices = Notices(part)
    sheet = Sheet(remedied)
    streams = make_streams(part)
    slurs = pair_slurs(part.events, notices)
    follow_links(streams, slurs)
    add_heads(part, streams, sheet, notices)
    add_ties(streams, sheet, notices)
    add_beams(streams, sheet, notices)
    add_articulations(streams, sheet, notices)
    slurs_across = add_slurs(part, streams, slurs, sheet, notices)
    add_glissandi(streams, sheet, notices)
    joining = add_arpeggios(streams, sheet, notices)
    add_ornaments(streams, sheet, notices)
    add_string_names(string_names, sheet)
    voices = build_voices(part, units, streams, sheet, notices)
    signs = build_staff_signs(
        part,
        units,
        notices,
        arpeggios=joining.across,
        crossed=crossed_bars(part, streams),
        trills=trill_lines(streams),
        remedied=remedied,
    )
    lyrics = build_lyrics(part, units, streams)
    rows: list[Any] = []
    for staff in range(1, part.staves + 1):
        # the signs come first: a clef or an octave bracket must be in force before its first note
        rows.append(
            es.context(
                "Staff",
                staff_name(staff, part.staves),
                [*signs.voices[staff], *voices[staff]],
                simultaneous=True,
                engravers=("Span_arpeggio_engraver",) if staff in joining.staves else (),
            )
        )
        rows += lyrics[staff]
        if staff == 1 and signs.between is not None:
            rows.append(signs.between)
    staves = rows[0] if len(rows) == 1 else _grouped(part, streams, rows)
    if any(event.stem_with for event in part.events):
        es.add_engravers(staves, ("Span_stem_engraver",))
    if slurs_across:
        es.add_engravers(staves, ("#slurs-across-voices",))
    timing = build_timing_lane(part, units, notices, source_systems=source_systems)
    return NotatedScore(staves, timing, notices.all())


def _grouped(part: HarpPart, streams: Sequence[Stream], rows: Sequence[Any]) -> Any:
    """The staves and what stands between them, in one bracket or brace."""
    distance = distance_for_knees(part, streams)
    opening = (
        [
            r"\override PianoStaff.StaffGrouper.staff-staff-spacing.minimum-distance = "
            f"#{float(distance)}"
        ]
        if distance is not None
        else []
    )
    kind = "PianoStaff" if part.staves > 1 else "StaffGroup"
    return es.context(kind, "harp", rows, simultaneous=True, opening=opening)
