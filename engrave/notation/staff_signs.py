"""The signs of a staff: clefs, keys, octave brackets, dynamics, hairpins, words, lines.

They hang on skips in voices of their own, so that each stands at its exact moment whatever the
notes do. Dynamics between two staves get a ``Dynamics`` context there, as keyboard music has it.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from pedalsetter.analysis.part import (
    ClefChange,
    Direction,
    DirectionKind,
    HarpPart,
    KeyChange,
)
from pedalsetter.engrave.notation import engraver_score as es
from pedalsetter.engrave.notation.articulations import dynamic
from pedalsetter.engrave.notation.clefs_and_keys import clef_command, key_command
from pedalsetter.engrave.notation.escaping import markup
from pedalsetter.engrave.notation.lane import Lane, last_onset
from pedalsetter.engrave.notation.ornaments import TrillLine
from pedalsetter.engrave.notation.remedied import AS_WRITTEN, Remedied
from pedalsetter.engrave.notation.sheet import Notices
from pedalsetter.engrave.notation.spanner_pairs import (
    Dynamics,
    pair_directions,
    words_before_lines,
    written_octaves,
)
from pedalsetter.engrave.notation.streams import staff_name
from pedalsetter.engrave.notation.symbols import symbol_markup
from pedalsetter.engrave.notation.timeline import BarUnit, grace_skips

__all__ = ["StaffSigns", "build_staff_signs", "words_markup"]

_OCTAVES = {"8va": 1, "8vb": -1, "15ma": 2, "15mb": -2, "22ma": 3, "22mb": -3}


_WITH_ROOM = (
    r"\once \override DynamicText.extra-spacing-width = #'(0 . 0.3) "
    r"\once \override DynamicText.extra-spacing-height = #'(-inf.0 . +inf.0)"
)
"""Lets what follows stand clear of a dynamic, also what runs from staff to staff."""

_WITH_ROOM_AROUND = _WITH_ROOM.replace("(0 . 0.3)", "(-0.3 . 0.3)")

_LEFT = r"\once \override DynamicText.self-alignment-X = #LEFT"

_BESIDE = r"\once \override DynamicText.after-line-breaking = #dynamics-beside-lines"
"""Lets a dynamic of a staff that stands on its inner side keep clear of what joins the staves."""

_CLEAR = r"\once \override DynamicLineSpanner.outside-staff-padding = #2"
"""The engraver keeps dynamics clear of notes, but not of slurs that cross the staves."""


@dataclass(frozen=True, slots=True)
class StaffSigns:
    """Contexts of signs, ready to be put beside the notes."""

    voices: dict[int, list[Any]]
    """For each staff its voices of signs; the first one carries clefs and keys."""
    between: Any | None
    """The ``Dynamics`` context between two staves, if anything stands there."""


@dataclass(slots=True)
class _Track:
    """One lane with room for one spanner of each kind at a time."""

    lane: Lane
    taken: dict[str, list[tuple[Fraction, Fraction]]] = field(default_factory=dict)

    def is_free(self, kind: str, start: Fraction, stop: Fraction) -> bool:
        return all(
            stop <= other_start or other_stop <= start
            for other_start, other_stop in self.taken.get(kind, ())
        )


def words_markup(direction: Direction) -> str:
    r"""The words of a direction with the source's type, without ``\markup``."""
    commands = []
    if direction.enclosure in ("rectangle", "square"):
        commands.append(r"\box")
    elif direction.enclosure in ("circle", "oval", "bracket"):
        commands.append(r"\circle" if direction.enclosure == "circle" else r"\rounded-box")
    if direction.bold:
        commands.append(r"\bold")
    if direction.italic:
        commands.append(r"\italic")
    return markup(direction.text, commands)


def build_staff_signs(
    part: HarpPart,
    units: Sequence[BarUnit],
    notices: Notices,
    *,
    arpeggios: Collection[Fraction] = (),
    crossed: Container[int] = (),
    trills: Sequence[TrillLine] = (),
    remedied: Remedied = AS_WRITTEN,
) -> StaffSigns:
    """All signs of all staves.

    ``arpeggios`` are onsets of signs that run through both staves, ``crossed`` indices of bars in
    which beams or stems from staff to staff take the room between them: there dynamics of the upper
    staff stand above it, those of the lower one below. ``trills`` are drawn here because LilyPond
    cannot draw a trill line in a voice that changes its staff, be it bars later.
    """
    builder = _Builder(part, notices, arpeggios, crossed, remedied)
    for trill in trills:
        builder.trill(trill)
    return builder.build(units)


class _Builder:
    def __init__(
        self,
        part: HarpPart,
        notices: Notices,
        arpeggios: Collection[Fraction],
        crossed: Container[int],
        remedied: Remedied,
    ) -> None:
        self.remedied = remedied
        self.arpeggios = arpeggios
        self.crossed = crossed
        self.part = part
        self.notices = notices
        self.tracks: dict[int, list[_Track]] = {
            staff: [_Track(Lane(part))] for staff in range(1, part.staves + 1)
        }
        self.between = _Track(Lane(part)) if part.staves == 2 else None
        self.dynamics = Dynamics(part)
        self.dynamic_places: set[tuple[int, tuple[int, Fraction]]] = set()
        self._last_onsets: dict[int, Fraction] = {}
        for event in part.events:
            known = self._last_onsets.get(event.bar, event.onset)
            self._last_onsets[event.bar] = max(known, event.onset)
        self._last_onset = part.bars[-1].start + last_onset(part)

    def build(self, units: Sequence[BarUnit]) -> StaffSigns:
        """Fill the lanes and make contexts of them."""
        self._clefs_and_keys()
        self._directions()
        graces = grace_skips(self.part)
        voices: dict[int, list[Any]] = {}
        for staff, tracks in self.tracks.items():
            name = f"{staff_name(staff, self.part.staves)} signs"
            voices[staff] = [
                es.context(
                    "Voice",
                    f"{name} {index + 1}" if index else name,
                    track.lane.bars(units, graces),
                )
                for index, track in enumerate(tracks)
            ]
        between = None
        if self.between is not None and self.between.lane:
            between = es.context("Dynamics", "between", self.between.lane.bars(units, graces))
        return StaffSigns(voices, between)

    def trill(self, line: TrillLine) -> None:
        """Draw a trill line from its note to where its last note ends."""
        bar = self.part.bars[line.start.bar]
        lane = self._own_track(line.start.staff, "trill", line.start.onset, line.end).lane
        place = (bar.index, line.start.onset - bar.start)
        if not line.sign or line.text:
            text = rf"\markup {line.text}" if line.text else "##f"
            lane.command(*place, rf"\once \override TrillSpanner.bound-details.left.text = {text}")
        lane.sign(bar.index, line.end - bar.start, r"\stopTrillSpan")
        lane.sign(*place, r"\startTrillSpan")

    def _clefs_and_keys(self) -> None:
        for staff, tracks in self.tracks.items():
            lane = tracks[0].lane
            if any(d.kind is DirectionKind.OCTAVE_START for d in self.part.directions):
                lane.command(0, Fraction(0), r"\set Staff.ottavationMarkups = #ottavation-ordinals")
            clefs = [clef for clef in self.part.clefs if clef.staff == staff]
            if not any(clef.onset == 0 for clef in clefs):
                name = "bass" if staff == 2 else "treble"
                lane.command(0, Fraction(0), rf'\clef "{name}"')
            for clef in clefs:
                command = clef_command(clef)
                if command is None:
                    self.notices.here(
                        clef.bar,
                        clef.onset,
                        staff,
                        f"a {clef.sign} clef here has no form: left out",
                    )
                else:
                    lane.command(clef.bar, self._offset(clef), command)
            for key in self.part.keys:
                if key.staff in (None, staff):
                    lane.command(key.bar, self._offset(key), key_command(key))

    def _offset(self, thing: ClefChange | KeyChange | Direction) -> Fraction:
        return max(thing.onset - self.part.bars[thing.bar].start, Fraction(0))

    def _directions(self) -> None:
        pairs, alone = pair_directions(self.part, self.notices)
        worded = words_before_lines(self.part, pairs)
        doubled = written_octaves(pairs, alone, worded)
        consumed = {direction.id for direction in worded.values()} | doubled
        for start, stop in pairs:
            if start.id in doubled:
                continue
            self._span(start, stop, worded.get(start.id))
        for direction in alone:
            if direction.id not in consumed:
                self._single(direction)

    def _tell(self, direction: Direction, what: str) -> None:
        self.notices.here(direction.bar, direction.onset, direction.staff, what)

    def _is_between(self, direction: Direction) -> bool:
        return self.between is not None and (
            direction.staff is None
            or (direction.staff == 1 and direction.placement != "above")
            or (direction.staff == 2 and direction.placement == "above")
        )

    def _outside(self, direction: Direction) -> Direction:
        """The direction on the outer side of its staff, where beams leave no room between two."""
        if direction.staff == 1:
            return replace(direction, placement="above")
        return replace(direction, staff=self.part.staves, placement="below")

    def _track(self, direction: Direction, kind: str, stop: Fraction, between: bool) -> _Track:
        """The lane for a spanner: the row between the staves, or one of the staff's own."""
        start = direction.onset
        if between and self.between is not None and self.between.is_free(kind, start, stop):
            self.between.taken.setdefault(kind, []).append((start, stop))
            return self.between
        return self._own_track(min(direction.staff or 1, self.part.staves), kind, start, stop)

    def _own_track(self, staff: int, kind: str, start: Fraction, stop: Fraction) -> _Track:
        """The first lane of a staff in which no spanner of the kind runs meanwhile."""
        own = self.tracks[staff]
        track = next((track for track in own if track.is_free(kind, start, stop)), None)
        if track is None:
            track = _Track(Lane(self.part))
            own.append(track)
        track.taken.setdefault(kind, []).append((start, stop))
        return track

    def _span(self, start: Direction, stop: Direction, words: Direction | None) -> None:
        if start.kind is DirectionKind.WEDGE_START:
            start, stop = self.dynamics.beside(start, stop)
        begin = (start.bar, self._offset(start))
        end = (stop.bar, self._offset(stop))
        if start.kind is DirectionKind.OCTAVE_START:
            number = _OCTAVES.get(start.shape)
            if number is None:
                self._tell(start, f"an octave bracket '{start.shape}' is not known: left out")
                return
            lane = self._track(start, "octave", stop.onset, False).lane
            lane.command(*begin, rf"\ottava #{number}")
            lane.command(*end, r"\ottava #0")
            return
        if start.kind is DirectionKind.WEDGE_START:
            between = self._is_between(start)
            if between and any(bar in self.crossed for bar in range(start.bar, stop.bar + 1)):
                start, between = self._outside(start), False
                self.tracks[start.staff or 1][0].lane.command(*begin, _CLEAR)
            track = self._track(start, "hairpin", stop.onset, between)
            if start.niente or stop.niente:
                track.lane.command(*begin, r"\once \override Hairpin.circled-tip = ##t")
            if self.dynamics.at_start(start):
                # behind a dynamic little room is left of a short hairpin
                track.lane.command(*begin, r"\once \override Hairpin.minimum-length = #5")
            sign = r"\>" if start.shape == "diminuendo" else r"\<"
            direction = self._side(start, track)
            track.lane.sign(*end, r"\!")
            track.lane.sign(*begin, f"{direction}{sign}")
            return
        if stop.onset >= self.part.length and start.onset >= self._last_onset:
            # the engraver needs a note under each end of a line
            self._tell(start, "a line that begins at the last note: left out")
            if words is not None:
                self._single(words)
            return
        track = self._track(start, "line", stop.onset, False)
        track.lane.sign(*end, r"\stopTextSpan")
        side = "DOWN" if self._below(words or start) else "UP"
        tweaks = [rf"-\tweak direction #{side}"]
        if words is not None:
            tweaks.append(rf"-\tweak bound-details.left.text \markup {words_markup(words)}")
            tweaks.append(r"-\tweak bound-details.left.stencil-align-dir-y #CENTER")
        if start.kind is DirectionKind.BRACKET_START:
            hook = r"\markup \draw-line #'(0 . " + ("1)" if side == "DOWN" else "-1)")
            style = {"dashed": "dashed-line", "dotted": "dotted-line"}.get(start.shape, "line")
            tweaks.append(rf"-\tweak style #'{style}")
            tweaks.append(rf"-\tweak bound-details.right.text {hook}")
        else:
            tweaks.append(r"-\tweak style #'dashed-line")
        track.lane.sign(*begin, " ".join([*tweaks, r"\startTextSpan"]))

    def _below(self, direction: Direction) -> bool:
        return direction.placement == "below"

    def _side(self, direction: Direction, track: _Track) -> str:
        if track is self.between:
            return ""
        return {"above": "^", "below": "_"}.get(direction.placement or "", "")

    def _needs_room(self, direction: Direction) -> bool:
        """Whether a dynamic could run into an arpeggio over both staves, or over its barline."""
        rolls = any(direction.onset < roll <= direction.onset + 2 for roll in self.arpeggios)
        return rolls or direction.onset >= self._last_onsets.get(direction.bar, Fraction(0))

    def _single(self, direction: Direction) -> None:
        place = (direction.bar, self._offset(direction))
        own = self.tracks[min(direction.staff or 1, self.part.staves)][0]
        kind = direction.kind
        side = "_" if self._below(direction) else "^"
        if kind is DirectionKind.DYNAMIC:
            between = self._is_between(direction)
            if between and direction.bar in self.crossed:
                direction, between = self._outside(direction), False
                own = self.tracks[direction.staff or 1][0]
                own.lane.command(*place, _CLEAR)
            track = self.between if between and self.between is not None else own
            if (id(track), place) in self.dynamic_places:
                # the engraver has one dynamic at a time: the second one stays with its staff
                tracks = self.tracks[min(direction.staff or 1, self.part.staves)]
                free = [one for one in tracks if (id(one), place) not in self.dynamic_places]
                track = free[0] if free else _Track(Lane(self.part))
                if not free:
                    tracks.append(track)
                if direction.placement is None:
                    direction = replace(direction, placement="below")
            self.dynamic_places.add((id(track), place))
            sign = dynamic(direction.text)
            prefix = self._side(direction, track)
            if sign.startswith(r"\markup") and not prefix:
                prefix = "_"
            if direction.onset in self.arpeggios:
                # one over both staves passes left of the notes
                track.lane.command(*place, _LEFT)
            if track is not self.between and self._is_between(direction):
                track.lane.command(*place, _BESIDE)
            if direction.onset in self.remedied.roomy_dynamics:
                track.lane.command(*place, _WITH_ROOM_AROUND)
            elif track is self.between and self._needs_room(direction):
                track.lane.command(*place, _WITH_ROOM)
            track.lane.sign(*place, prefix + sign)
        elif kind is DirectionKind.WORDS:
            if direction.text.strip():
                own.lane.sign(*place, rf"{side}\markup {words_markup(direction)}")
        elif kind in (DirectionKind.DAMP, DirectionKind.DAMP_ALL, DirectionKind.SYMBOL):
            name = {
                DirectionKind.DAMP: "pluckedDamp",
                DirectionKind.DAMP_ALL: "pluckedDampAll",
            }.get(kind, direction.text)
            sign_markup = symbol_markup(name)
            if sign_markup is None:
                self._tell(direction, f"the symbol '{name}' has no form here: left out")
            else:
                own.lane.sign(*place, rf"{side}\markup {sign_markup}")
