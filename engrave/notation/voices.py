"""Voice contexts: every stream, bar by bar, each bar exactly as long as it must be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import Any

from pedalsetter.analysis.part import Bar, Event, HarpPart, Head, TupletGroup
from pedalsetter.engrave.notation import engraver_score as es
from pedalsetter.engrave.notation.beams import source_has_beams
from pedalsetter.engrave.notation.sharing import (
    clashing_rests,
    doubled_rests,
    merged_rests,
    note_places,
    rest_bearers,
    rests_on_heads,
    struck_together,
    wandered_rests,
)
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.stems import UPPER_VOICES, assign_voices, stem_directions
from pedalsetter.engrave.notation.streams import Stream, staff_name
from pedalsetter.engrave.notation.timeline import (
    BarUnit,
    bar_comment,
    grace_length,
    grace_skips,
    is_trailing,
)

__all__ = ["build_voices"]


_UNSEEN_HEADS = (
    r"\once \hide NoteHead",
    r"\once \override NoteHead.no-ledgers = ##t",
    r"\once \omit Accidental",
    r"\once \omit Dots",
    r"\once \override NoteColumn.ignore-collision = ##t",
)
"""Before a note that gives its beam a stem, at a head that another voice prints."""


_SHARED_STEM = (
    r"\once \override Stem.cross-staff = #cross-staff-connect",
    r"\once \override Flag.style = #'no-flag",
)
"""Before the notes of a chord whose stem and flags stand on the other staff."""


@dataclass(slots=True)
class _Item:
    """A stretch of one bar: an event, or silence where the stream has none."""

    offset: Fraction
    length: Fraction
    event: Event | None
    graces: list[Event] = field(default_factory=list)
    trailing: list[Event] = field(default_factory=list)


def build_voices(
    part: HarpPart,
    units: Sequence[BarUnit],
    streams: Sequence[Stream],
    sheet: Sheet,
    notices: Notices,
) -> Mapping[int, list[Any]]:
    """The Voice contexts of each staff, in the order of ``streams``."""
    maker = _Maker(part, units, streams, sheet, notices)
    voices: dict[int, list[Any]] = {staff: [] for staff in range(1, part.staves + 1)}
    for stream in streams:
        voices[stream.home].append(maker.voice(stream))
    return voices


class _Maker:
    """Builds one stream after another; what changes from leaf to leaf is kept here."""

    def __init__(
        self,
        part: HarpPart,
        units: Sequence[BarUnit],
        streams: Sequence[Stream],
        sheet: Sheet,
        notices: Notices,
    ) -> None:
        self.part = part
        self.units = units
        self.sheet = sheet
        self.notices = notices
        self.graces = grace_skips(part)
        self.merged = merged_rests(part)
        self.doubled = doubled_rests(part, streams) | self.merged.dropped | wandered_rests(part)
        self.on_heads = rests_on_heads(part)
        self.rest_bearers = rest_bearers(part, units, streams)
        self.voices = assign_voices(part, streams, self.doubled)
        self.doubled |= clashing_rests(streams, self.voices)
        self.crowd = struck_together(streams)
        self.note_places = note_places(part)
        self.shared = frozenset(event.stem_with for event in part.events)
        self.opening = [r"\autoBeamOff"] if source_has_beams(part) else []

    def voice(self, stream: Stream) -> Any:
        """The context of one stream."""
        self.stream = stream
        self.stems = stem_directions(self.part, stream, self.voices, self.crowd, self.shared)
        self.state = r"\oneVoice"
        self.stem = "free"
        self.staff = stream.home
        self.small = False
        bars = []
        for unit in self.units:
            bar = self.bar = self.part.bars[unit.first]
            number = bar_comment(self.part, unit)
            opening = self._voice_command(bar)
            if unit.gathered:
                item = _Item(Fraction(0), unit.length, None)
                leaf = (
                    es.bar_rest(bar.length, unit.count)
                    if (stream.name, unit.first) in self.rest_bearers
                    else es.skip(unit.length)
                )
                self._put_graces(leaf, self._grace_leaves(item), item)
                bars.append(es.BarLine.of([leaf], number, opening))
            else:
                contents = self._sequence(self._items(bar), 0, Fraction(1))
                bars.append(es.BarLine.of(contents, number, opening))
        return es.context("Voice", stream.name, bars, opening=self.opening)

    def _voice_command(self, bar: Bar) -> str:
        shown = [event for event in self.stream.by_bar.get(bar.index, ()) if self._shows(event)]
        return self._enter(bar.index, shown[0].staff) if shown else ""

    def _enter(self, bar: int, staff: int) -> str:
        """The command for the part that the voice plays on a staff, if it is another one now."""
        wanted = self.voices.get((self.stream.name, bar, staff))
        if wanted is None or wanted == self.state:
            return ""
        self.state = wanted
        self.stem = "free"
        return wanted

    def _items(self, bar: Bar) -> list[_Item]:
        """The bar cut into events and silences, graces put where they belong."""
        events = self.stream.by_bar.get(bar.index, [])
        mains = [event for event in events if event.grace is None]
        leading = [e for e in events if e.grace is not None and not is_trailing(self.part, e)]
        trailing = [e for e in events if e.grace is not None and is_trailing(self.part, e)]
        starts = {event.onset - bar.start for event in mains}
        cuts = {event.onset - bar.start for event in leading} - starts
        items: list[_Item] = []

        def silence(start: Fraction, stop: Fraction) -> None:
            edges = sorted({start, stop} | {cut for cut in cuts if start < cut < stop})
            for edge, following in pairwise(edges):
                items.append(_Item(edge, following - edge, None))

        cursor = Fraction(0)
        for event in mains:
            offset = event.onset - bar.start
            silence(cursor, offset)
            length = min(event.length, bar.length - offset)
            if length < event.length:
                self.notices.at(event, "a note is longer than its bar: cut at the barline")
            if length > 0:
                items.append(_Item(offset, length, event))
            cursor = offset + length
        silence(cursor, bar.length)
        for grace in leading:
            home = [item for item in items if item.offset == grace.onset - bar.start]
            if home:
                home[0].graces.append(grace)
            else:
                self.notices.at(grace, "a grace note within a longer note of its voice: left out")
        for grace in trailing:
            before = [item for item in items if item.offset < grace.onset - bar.start] or items[:1]
            before[-1].trailing.append(grace)
        return items

    def _sequence(self, items: Sequence[_Item], depth: int, scale: Fraction) -> list[Any]:
        """Leaves and tuplets of consecutive items; ``scale`` is the product of outer tuplets."""
        contents: list[Any] = []
        index = 0
        while index < len(items):
            group = _group(items[index], depth)
            if group is not None:
                stop = _end_of_group(items, index, depth, group)
                contents += self._tuplet(items[index:stop], depth, scale, group)
                index = stop
                continue
            pair = self._tremolo(items, index, scale)
            if pair is not None:
                contents.append(pair)
                index += 2
                continue
            contents.append(self._leaf(items[index], scale))
            index += 1
        return contents

    def _tuplet(
        self, items: Sequence[_Item], depth: int, scale: Fraction, group: TupletGroup
    ) -> list[Any]:
        ratio = Fraction(group.normal, group.actual)
        inner = scale * ratio
        own = [item for item in items if item.event is not None]
        fits = any(_fits(item) for item in own)
        first = own[0].event
        assert first is not None  # noqa: S101
        if not any(self._is_seen(item) for item in own):
            return [self._leaf(item, scale) for item in items]
        if not fits:
            self.notices.at(
                first, "a tuplet whose notes do not fill it: lengths are scaled instead"
            )
            return [self._leaf(item, scale) for item in items]
        total = sum((item.length for item in items), Fraction(0)) / inner
        if total.denominator & (total.denominator - 1):
            self.notices.at(first, "a tuplet is incomplete within its bar")
        before = []
        if group.bracket is not None:
            before.append(rf"\tweak bracket-visibility {'##t' if group.bracket else '##f'}")
        if group.show_number == "both":
            before.append(r"\tweak text #tuplet-number::calc-fraction-text")
        elif group.show_number == "none":
            before.append(r"\tweak TupletNumber.stencil ##f")
        if group.placement in ("above", "below"):
            before.append(rf"\tweak direction #{'UP' if group.placement == 'above' else 'DOWN'}")
        contents = self._sequence(items, depth + 1, inner)
        return [es.tuplet(group.actual, group.normal, contents, before)]

    def _tremolo(self, items: Sequence[_Item], index: int, scale: Fraction) -> Any | None:
        """Two notes in alternation, if the strokes divide their time evenly."""
        one = items[index].event
        other = items[index + 1].event if index + 1 < len(items) else None
        if one is None or one.tremolo is None or one.tremolo.kind != "start":
            return None
        partner = other is not None and other.tremolo is not None and other.tremolo.kind == "stop"
        if other is None or not partner or one.length != other.length or one.notated is None:
            self.notices.at(one, "a tremolo between two notes lacks its second note: plain notes")
            return None
        flags = one.notated.flags
        log = one.tremolo.marks + 2 + flags
        total = 2 * one.length / scale
        times = total / (2 * Fraction(4, 2**log))
        if times.denominator != 1 or times < 2 or not 3 <= log <= 8 or one.notated.dots > 1:
            self.notices.at(one, "a tremolo whose strokes do not divide its time: plain notes")
            return None
        unit = es.NotatedLength(log)
        leaves = [
            self._note_leaf(items[index + place], event, unit.quarters, unit)
            for place, event in enumerate((one, other))
        ]
        return es.tremolo(int(times), leaves)

    def _leaf(self, item: _Item, scale: Fraction) -> Any:
        """One leaf, with its signs and grace notes."""
        event = item.event
        length = item.length / scale
        if event is not None and self._is_seen(item):
            return self._note_leaf(item, event, length, event.notated)
        before = self._grace_leaves(item)
        leaf = es.skip(length)
        self._put_graces(leaf, before, item)
        return leaf

    def _is_seen(self, item: _Item) -> bool:
        return item.event is not None and (bool(item.event.heads) or self._shows(item.event))

    def _shows(self, event: Event) -> bool:
        return event.visible and event.id not in self.doubled

    def _note_leaf(self, item: _Item, event: Event, length: Fraction, printed: Any) -> Any:
        signs = self.sheet.events[event.id]
        graces = self._grace_leaves(item)
        after = list(signs.after)
        before = [*self._changes(event), *signs.before]
        if event.heads:
            heads, extra = self._heads(event.heads)
            leaf = es.chord(heads, length, printed)
            after += extra
            if not event.visible:
                before += _UNSEEN_HEADS
            if event.stem_with:
                before += _SHARED_STEM
                if not self.opening and event.notated is not None and event.notated.flags:
                    after.append(r"\noBeam")
            if event.stem == "none":
                before += [r"\once \omit Stem", r"\once \omit Flag"]
        else:
            bar = self.part.bars[event.bar]
            if event.is_bar_rest and event.length == bar.length and length == event.length:
                leaf = es.bar_rest(length)
                before += self._clear_of_notes(event, "MultiMeasureRest")
            elif (event.staff, event.onset) in self.sheet.remedied.moved_rests:
                before += self._clear_of_notes(event, "Rest")
                leaf = es.rest(length, printed)
            elif event.id in self.merged.kept:
                before.append(r"\once \override Rest.staff-position = #0")
                leaf = es.rest(length, printed)
            elif event.rest_pitch is not None and event.id not in self.on_heads:
                leaf = es.rest_at(event.rest_pitch, length, printed)
            else:
                leaf = es.rest(length, printed)
        es.annotate(leaf, before, after, signs.behind)
        self._put_graces(leaf, graces, item)
        return leaf

    def _clear_of_notes(self, rest: Event, kind: str) -> list[str]:
        """Lift or lower a rest that shares its staff with notes of other voices.

        The engraver moves most rests out of their way, but never those that fill a bar.
        """
        if self.state == r"\oneVoice":
            return []
        places = self.note_places.get((rest.bar, rest.staff), ())
        if not places:
            return []
        up = self.state in UPPER_VOICES
        above, below = (4, 3) if kind == "MultiMeasureRest" else (6, 6)
        place = max(4, max(places) + above) if up else min(-4, min(places) - below)
        place -= place % 2
        return [rf"\once \override {kind}.staff-position = #{place}"]

    def _heads(self, heads: Sequence[Head]) -> tuple[list[tuple[Any, str, str]], list[str]]:
        written = []
        for head in heads:
            signs = self.sheet.heads[head.id]
            written.append((head.pitch, " ".join(signs.tweaks), signs.mark, signs.after))
        if len(written) == 1 and not written[0][1]:
            pitch, _, mark, after = written[0]
            return [(pitch, "", mark)], list(after)
        return [
            (pitch, tweaks, mark + "".join(after)) for pitch, tweaks, mark, after in written
        ], []

    def _changes(self, event: Event) -> list[str]:
        """Commands for what differs from the event before: staff, stem, size."""
        changes = []
        if event.staff != self.staff:
            self.staff = event.staff
            name = staff_name(event.staff, self.part.staves)
            changes.append(rf'\change Staff = "{name}"')
            command = self._enter(event.bar, event.staff)
            if command:
                changes.append(command)
        if event.heads:
            wanted = self.stems.get(event.id, "free")
            if wanted != self.stem and event.grace is None:
                self.stem = wanted
                if wanted == "free":
                    changes.append(r"\stemNeutral" if self.state == r"\oneVoice" else self.state)
                else:
                    changes.append(r"\stemUp" if wanted == "up" else r"\stemDown")
        small = event.cue or event.small
        if small != self.small:
            self.small = small
            changes.append(r"\set fontSize = #-3" if small else r"\unset fontSize")
        return changes

    def _grace_leaves(self, item: _Item) -> list[Any]:
        """Graces before an item, lengthened by silence to what all contexts spend there."""
        own = sum((grace_length(grace) for grace in item.graces), Fraction(0))
        missing = self.graces.get((self.bar.index, item.offset), Fraction(0)) - own
        silence = [es.skip(missing)] if missing > 0 else []
        return silence + [self._grace_leaf(grace) for grace in item.graces]

    def _grace_leaf(self, grace: Event) -> Any:
        signs = self.sheet.events[grace.id]
        changes = self._changes(grace)
        length = grace_length(grace)
        if not grace.heads:
            return es.annotate(es.skip(length), changes, signs.after)
        heads, extra = self._heads(grace.heads)
        if grace.stem == "down" and self.state == r"\oneVoice":
            changes.append(r"\once \override Stem.direction = #DOWN")
        leaf = es.chord(heads, length, grace.notated)
        return es.annotate(leaf, changes + signs.before, signs.after + extra)

    def _put_graces(self, leaf: Any, before: Sequence[Any], item: _Item) -> None:
        if before:
            slash = any(grace.grace is not None and grace.grace.slash for grace in item.graces)
            es.grace(leaf, before, slash)
        if item.trailing:
            es.after_grace(leaf, [self._grace_leaf(grace) for grace in item.trailing])


def _group(item: _Item, depth: int) -> TupletGroup | None:
    if item.event is None or len(item.event.tuplets) <= depth:
        return None
    return item.event.tuplets[depth]


def _end_of_group(items: Sequence[_Item], index: int, depth: int, group: TupletGroup) -> int:
    """Index behind the group's last item in this bar; silences between its notes belong to it."""
    stop = index
    for place in range(index, len(items)):
        found = _group(items[place], depth)
        if found is not None and found.id == group.id:
            stop = place + 1
        elif items[place].event is not None:
            break
    return stop


def _fits(item: _Item) -> bool:
    """Whether printed value and tuplets of an event give its length."""
    event = item.event
    if event is None or event.notated is None:
        return False
    length = event.notated.quarters
    for group in event.tuplets:
        length *= Fraction(group.normal, group.actual)
    return length == item.length or event.tremolo is not None
