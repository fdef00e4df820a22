"""What stands around a finding: its notes, what is struck with them, and the pedals involved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pedalsetter.analysis.instrument.harp import Letter, Position
from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.naming.wording import ornament_called
from pedalsetter.analysis.part import Event, HarpPart, Head, Place
from pedalsetter.analysis.pedal_plan import Change, Finding, FindingKind, PedalPlan, Severity
from pedalsetter.analysis.playing.moments import number_graces, place_of
from pedalsetter.analysis.playing.sustained import tied_ends, trill_ends

__all__ = ["Played", "Scene", "Scenes"]


@dataclass(frozen=True, slots=True)
class Played:
    """One struck note as it is played."""

    event: Event
    head: Head
    place: Place
    letter: Letter
    position: Position
    """Of the string that plays it; as written, within the reach of a pedal, if none does."""
    silent: bool
    """The plan has no string for it."""

    @property
    def key(self) -> tuple[Letter, Position]:
        """What its pedal must be set to."""
        return self.letter, self.position

    @property
    def pitch(self) -> Pitch:
        """As written."""
        return self.head.pitch


@dataclass(frozen=True, slots=True)
class Scene:
    """One finding with the notes that bear on it."""

    finding: Finding
    notes: tuple[Played, ...]
    """Those that the finding names."""
    together: tuple[Played, ...]
    """All that is struck at the moments of these notes, themselves included."""
    change: Change | None
    """The change that the finding is about."""
    old: tuple[Played, ...]
    """Notes that need the old position last before the change."""
    rivals: tuple[Played, ...]
    """Notes that need the change which the same foot makes just before."""
    adorned: tuple[Played, ...]
    """Notes with a trill or the like that sound there, or where the old position was last needed,
    and those that the finding names."""
    first: int
    """Index of the first bar that matters …"""
    last: int
    """… and of the last."""


class Scenes:
    """Looks up what stands around the findings of one planned part."""

    def __init__(self, part: HarpPart, plan: PedalPlan) -> None:
        self._plan = plan
        graces = number_graces(part)
        tied, continued = tied_ends(part)
        self.notes: dict[str, Played] = {}
        self.at: dict[Place, list[Played]] = {}
        for event, head in part.notes():
            use = plan.strings.get(head.id)
            if use is None or head.id in continued:
                continue
            place = place_of(part, event, graces)
            letter, position = head.pitch.letter, Position(max(-1, min(1, head.pitch.alter)))
            if use.sounding is not None:
                letter, position = use.sounding.letter, use.sounding.position
            played = Played(event, head, place, letter, position, use.sounding is None)
            self.notes[head.id] = played
            self.at.setdefault(place, []).append(played)
        self._order = sorted(self.at)
        trilled = trill_ends(part)
        self._part = part
        self._adorned = [
            (one, trilled.get(event.id, tied.get(one.head.id, event.end)))
            for event in part.events
            if event.heads and ornament_called(event)
            if (one := self.notes.get(event.heads[-1].id)) is not None
        ]

    def around(self, finding: Finding) -> Scene:
        """Everything that bears on a finding."""
        notes = self._known(finding.notes)
        places = dict.fromkeys(one.place for one in notes)
        together = tuple(one for place in places for one in self.at[place])
        change = self._change(finding)
        old: tuple[Played, ...] = ()
        rivals: tuple[Played, ...] = ()
        bars = [finding.place.bar, *(place.bar for place in places)]
        adorned = self._adorned_at(finding.place)
        if change is not None:
            if change.free_since is not None:
                old = self._needing(change.free_since, {change.letter: change.old})
                bars.append(change.free_since.bar)
                adorned += self._adorned_at(change.free_since)
            if change.needed is not None:
                bars.append(change.needed.bar)
            before = self._before(change)
            if before is not None:
                rivals = self._known(before.needed_by)
                bars += [one.place.bar for one in rivals]
        if finding.kind is FindingKind.RINGING and finding.severity is not Severity.REMARK:
            old, notes = notes, old or notes
            if change is not None:
                notes = self._known(change.needed_by)
        adorned += [one for one in notes if ornament_called(one.event)]
        bars += [one.place.bar for one in adorned]
        near = [bar for bar in bars if abs(bar - finding.place.bar) <= _FAR]
        trills = tuple(dict.fromkeys(adorned))
        return Scene(finding, notes, together, change, old, rivals, trills, min(near), max(near))

    def _adorned_at(self, place: Place) -> list[Played]:
        """The notes with a trill or the like that have begun before a place or at it and last."""
        time = self._part.onset_of(place)
        return [
            one
            for one, end in self._adorned
            if one.place <= place and (time < end or one.place == place)
        ]

    def needing(self, key: tuple[Letter, Position], first: int, last: int) -> tuple[Played, ...]:
        """All notes of some bars that are played on one position of one letter."""
        return tuple(
            one
            for place in self._order
            if first <= place.bar <= last
            for one in self.at[place]
            if one.key == key
        )

    def _known(self, notes: Iterable[str]) -> tuple[Played, ...]:
        return tuple(self.notes[note] for note in notes if note in self.notes)

    def _needing(self, place: Place, keys: Mapping[Letter, Position]) -> tuple[Played, ...]:
        return tuple(one for one in self.at.get(place, ()) if keys.get(one.letter) is one.position)

    def _change(self, finding: Finding) -> Change | None:
        """The change at the finding's place whose words it uses, if it is about one."""
        if finding.kind not in _ABOUT_A_CHANGE:
            return None
        here = [change for change in self._plan.changes if change.place == finding.place]
        for change in here:
            if finding.what.startswith(f"{change.text} "):
                return change
        return None

    def _before(self, change: Change) -> Change | None:
        """What the foot moves just before, where that is what hurries it."""
        if change.seconds_since_same_foot is None:
            return None
        if change.seconds_free is not None and change.seconds_free < change.seconds_since_same_foot:
            return None
        earlier = [
            one
            for one in self._plan.changes
            if one.foot is change.foot and one.place < change.place
        ]
        return earlier[-1] if earlier else None


_ABOUT_A_CHANGE = {FindingKind.FOOT_TOO_FAST, FindingKind.FOOT_HURRIED, FindingKind.RINGING}

_FAR = 3
"""Bars: what lies further from a finding is not part of its scene."""
