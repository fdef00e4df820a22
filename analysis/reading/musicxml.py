"""A MusicXML score, parsed, to a :class:`HarpPart`: the steps in their order."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.part import (
    Bar,
    ClefChange,
    Direction,
    HarpPart,
    Jump,
    JumpKind,
    KeyChange,
    Place,
    Source,
)
from pedalsetter.analysis.reading.barlines import BarlineFacts, read_barlines
from pedalsetter.analysis.reading.bars import bars_left_open, build_bars, fill_bar_rests
from pedalsetter.analysis.reading.directions import DirectionFacts, read_directions
from pedalsetter.analysis.reading.draft import EventDraft, MeasureDraft, freeze
from pedalsetter.analysis.reading.grace_notes import place_grace_notes
from pedalsetter.analysis.reading.hidden_notes import settle_hidden_notes
from pedalsetter.analysis.reading.identities import Identities
from pedalsetter.analysis.reading.jump_words import merged_jumps
from pedalsetter.analysis.reading.limits import DEFAULT_LIMITS, Limits, local_name, long_texts
from pedalsetter.analysis.reading.movements import heading_at, movement_starts
from pedalsetter.analysis.reading.notices import Notices
from pedalsetter.analysis.reading.other_parts import OtherParts, once_for_everyone
from pedalsetter.analysis.reading.part_choice import ChosenPart, choose_part, numbered_name
from pedalsetter.analysis.reading.part_list import list_parts
from pedalsetter.analysis.reading.printed_values import give_printed_values
from pedalsetter.analysis.reading.score_header import read_header
from pedalsetter.analysis.reading.sections import find_sections
from pedalsetter.analysis.reading.small_notes import settle_small_notes
from pedalsetter.analysis.reading.source_words import settle_pedal_words
from pedalsetter.analysis.reading.spanners import pair_directions, pair_spanners
from pedalsetter.analysis.reading.split_bars import split_at_repeats
from pedalsetter.analysis.reading.staff_chords import split_over_staves
from pedalsetter.analysis.reading.tempi import build_tempi
from pedalsetter.analysis.reading.thinned import ThinnedScore
from pedalsetter.analysis.reading.ties import close_ties
from pedalsetter.analysis.reading.timewise import to_partwise
from pedalsetter.analysis.reading.tuplets import group_tuplets, number_once
from pedalsetter.analysis.reading.voices import settle_voices
from pedalsetter.analysis.reading.walk import walk_part

__all__ = ["read_musicxml"]

_CODA_HEADING = re.compile(r"(the )?coda[.:]?", re.IGNORECASE)


def read_musicxml(
    root: etree._Element,
    file: str,
    format_name: str,
    part: str | None = None,
    *,
    spelling_guessed: bool = False,
    limits: Limits = DEFAULT_LIMITS,
    thinned: ThinnedScore | None = None,
) -> HarpPart:
    """Read the harp (or the part asked for) out of a parsed score; the tree may be changed.

    ``thinned`` is that score if music of other parts was let go.

    Takes time in proportion to the notes of the part and, in a full score, a little for the first
    part, from which signs for everyone are taken.

    Raises:
        ScoreError: no MusicXML score, or one that cannot be read.
        PartError: the part cannot be told.
    """
    if root.tag == "score-timewise":
        root = to_partwise(root)
    if root.tag != "score-partwise":
        raise ScoreError(f"a MusicXML score was expected, not '{local_name(root)}'", file=file)
    infos = list_parts(root, thinned.outlines if thinned else {})
    choice = choose_part(infos, part, file)
    if thinned and any(info.outline is not None for info in choice.parts):
        thinned = thinned.whole()
        root = thinned.root
        infos = list_parts(root)
        choice = choose_part(infos, part, file)
    notices = Notices()
    _cut_texts(root, choice, limits, notices)
    identities = Identities(info.element for info in choice.parts)
    halves = [
        walk_part(info.element, name, half, identities, notices, limits, file)
        for half, info, name in zip(choice.halves, choice.parts, _names(choice), strict=True)
    ]
    measures = _joined(halves, notices)
    if len(choice.parts) == 2:
        notices.at(None)
        upper, lower = (info.number for info in choice.parts)
        notices.add(f"parts {upper} and {lower} of the score are read as the staves of one harp")
    if not measures:
        raise ScoreError("the part has no bars", file=file)
    measures, cuts = split_at_repeats(measures, notices)
    others = OtherParts(infos, choice, thinned.once_more if thinned else tuple)
    others.cut(cuts)
    facts = read_barlines(measures, notices)
    first_time = others.first_time()
    others.measure(bars_left_open(measures, first_time))
    bars = build_bars(measures, facts, first_time, others.reach, notices)
    fill_bar_rests(measures, bars)
    drafts = sorted(_events(measures, notices), key=_in_time)
    said = read_directions(measures, bars, notices)
    settle_small_notes(drafts, bars, said.directions, others.names(), notices)
    close_ties(drafts, bars, notices)
    pair_spanners(drafts, notices)
    drafts = settle_hidden_notes(split_over_staves(drafts), notices)
    words = settle_pedal_words(said.directions, said.pedal_words, said.source_marks)
    said.directions = list(words.directions)
    for doubt in words.doubtful:
        notices.at(doubt.bar, doubt.onset - bars[doubt.bar].start, doubt.staff or 1)
        text = " ".join(doubt.text.split())
        notices.add(f"'{text}' may be pedal letters and was kept as words", "doubtful letters")
    said.directions = once_for_everyone(said.directions)
    others.add_signs_for_everyone(said, bars)
    jumps = merged_jumps(_jumps(said, facts, bars))
    directions = pair_directions(
        sorted(said.directions, key=lambda each: (each.onset, each.bar)), bars, notices
    )
    bars = _with_movements(bars, directions, jumps)
    events = tuple(freeze(draft, bars[draft.bar].start) for draft in drafts)
    keys = _keys(measures, bars, max(half[-1].staves for half in halves if half))
    staves = _staves(halves)
    header = read_header(root)
    first = choice.parts[0]
    whole = HarpPart(
        source=Source(
            file,
            format_name,
            first.id,
            first.number,
            spelling_guessed,
            1 + sum(info.staves for info in infos[: first.number - 1]),
            len(infos),
            tuple(each.number for each in choice.parts) if len(choice.parts) > 1 else (),
        ),
        title=header.title,
        composer=header.composer,
        part_name="Harp" if choice.name in _PLACEHOLDERS else numbered_name(choice, infos),
        staves=staves,
        bars=tuple(bars),
        events=events,
        directions=tuple(directions),
        clefs=_clefs(measures, bars),
        keys=keys,
        tempi=build_tempi(said.speeds, directions, bars),
        jumps=jumps,
        sections=find_sections(bars, events, directions, keys, jumps),
        source_marks=tuple(
            sorted((*said.source_marks, *words.marks), key=lambda mark: (mark.onset, mark.bar))
        ),
        subtitle=header.subtitle,
        lyricist=header.lyricist,
        arranger=header.arranger,
        rights=header.rights,
        movement_titles=_movement_titles(
            header.movement_title,
            (header.title, *header.subtitle.splitlines()),
            bars,
            directions,
        ),
        source_language=words.language,
        doubtful_words=words.doubtful,
    )
    return replace(
        whole,
        warnings=notices.told(
            whole.printed_bar, lambda bar, offset: whole.printed_beat(Place(bar, offset))
        ),
    )


_PLACEHOLDERS = ("MusicXML Part",)
"""Names that exporters give to a part without a name of its own."""


def _names(choice: ChosenPart) -> list[str]:
    """What notes of each part are named after: its id, told apart where two share one."""
    names = [info.id for info in choice.parts]
    return names if len(set(names)) == len(names) else [names[0], f"{names[0]}-lower"]


def _joined(halves: Sequence[list[MeasureDraft]], notices: Notices) -> list[MeasureDraft]:
    """The measures of both staves as one; the upper half gives number, signature and breaks."""
    if len(halves) == 1:
        return halves[0]
    upper, lower = halves
    if len(upper) != len(lower):
        shorter = 1 if len(upper) < len(lower) else 2
        notices.at(max(min(len(upper), len(lower)) - 1, 0), None, shorter)
        notices.add("the two halves of the part differ in their number of bars")
    names = {event.voice for measure in upper for event in measure.events}
    highest = max((int(name) for name in names if name.isdecimal()), default=0)
    shift = max(4, highest)
    joined = []
    for index in range(max(len(upper), len(lower))):
        if index >= len(upper):
            joined.append(lower[index])
            continue
        measure = upper[index]
        if index < len(lower):
            below = lower[index]
            measure.events += below.events
            measure.directions += below.directions
            measure.clefs += below.clefs
            measure.reach = max(measure.reach, below.reach)
            measure.sounding_reach = max(measure.sounding_reach, below.sounding_reach)
            measure.time = measure.time or below.time
            if [each[2] for each in measure.keys] != [each[2] for each in below.keys]:
                measure.keys = [(at, 1, fifths, mode) for at, _, fifths, mode in measure.keys]
                measure.keys += [(at, 2, fifths, mode) for at, _, fifths, mode in below.keys]
            known = {_barline_kind(each.element) for each in measure.barlines}
            measure.barlines += [
                each for each in below.barlines if _barline_kind(each.element) not in known
            ]
        joined.append(measure)
    for measure in lower:
        for event in measure.events:
            event.voice = (
                str(int(event.voice) + shift) if event.voice.isdecimal() else f"{event.voice}/2"
            )
    return joined


def _cut_texts(root: etree._Element, choice: ChosenPart, limits: Limits, notices: Notices) -> None:
    """Cut texts that no page could hold, and tell where they stand in the part."""
    for element in long_texts(root, limits):
        line = [element, *element.iterancestors()]
        part = next((each for each in line if each.tag == "part"), None)
        chosen = next((each for each in choice.parts if each.element is part), None)
        if part is not None and chosen is None:
            continue
        measure = next((each for each in line if each.tag == "measure"), None)
        if measure is None or part is None:
            notices.at(None)
        else:
            child = line[max(line.index(measure) - 1, 0)]
            notices.at(part.findall("measure").index(measure), of=child)
        notices.add(f"a text of more than {limits.text_signs:,} signs was cut")


def _barline_kind(element: etree._Element) -> str:
    return element.get("location", "right")


def _events(measures: Sequence[MeasureDraft], notices: Notices) -> list[EventDraft]:
    """All events with their voices, grace notes, printed values and tuplets settled."""
    settle_voices([event for measure in measures for event in measure.events])
    drafts: list[EventDraft] = []
    for measure in measures:
        by_voice: dict[str, list[EventDraft]] = defaultdict(list)
        for event in measure.events:
            by_voice[event.voice].append(event)
        first = len(drafts)
        for voice in by_voice.values():
            place_grace_notes(voice)
            voice.sort(key=lambda event: (event.offset, event.grace is None, event.order))
            settled = give_printed_values(voice, notices)
            group_tuplets(settled, notices)
            drafts.extend(settled)
        number_once(drafts[first:])
    return drafts


def _in_time(event: EventDraft) -> tuple[int, Fraction, int, int, int, str, int]:
    """Order of events: onset, graces first (after-notes before others), staff, voice, document."""
    rank = 2 if event.grace is None else 0 if event.grace.after else 1
    return (
        event.bar,
        event.offset,
        rank,
        event.staff,
        len(event.voice),
        event.voice,
        event.order,
    )


def _jumps(said: DirectionFacts, facts: Sequence[BarlineFacts], bars: Sequence[Bar]) -> list[Jump]:
    """All jumps; coda signs of which nothing else tells are told by their number and place."""
    jumps = list(said.jumps)
    jumps += [Jump(kind, bar, label) for fact in facts for kind, bar, label in fact.jumps]
    has_departure = any(jump.kind is JumpKind.TO_CODA for jump in jumps)
    coda_signs = sorted(set(said.coda_signs))
    for place, (bar, at_end) in enumerate(coda_signs):
        is_first_of_two = place == 0 and len(coda_signs) > 1 and not has_departure
        has_target = any(jump.kind is JumpKind.CODA for jump in said.jumps)
        if is_first_of_two or (at_end and not has_departure) or (has_target and not has_departure):
            jumps.append(Jump(JumpKind.TO_CODA, bar))
            has_departure = True
        else:
            target = min(bar + 1, len(bars) - 1) if at_end else bar
            jumps.append(Jump(JumpKind.CODA, target))
    wants_coda = any(jump.al_coda or jump.kind is JumpKind.TO_CODA for jump in jumps)
    if wants_coda and not any(jump.kind is JumpKind.CODA for jump in jumps):
        # The coda may be headed by its name alone.
        jumps += [
            Jump(JumpKind.CODA, each.bar)
            for each in said.directions
            if each.onset == bars[each.bar].start and _CODA_HEADING.fullmatch(each.text.strip())
        ][:1]
    return jumps


def _with_movements(
    bars: Sequence[Bar], directions: Sequence[Direction], jumps: Sequence[Jump]
) -> list[Bar]:
    starts = movement_starts(bars, directions, jumps)
    if len(starts) == 1:
        return list(bars)
    movement = -1
    numbered = []
    for bar in bars:
        if bar.index in starts:
            movement += 1
            short = bar.length < bar.time.length
            numbered.append(replace(bar, movement=movement, implicit=bar.implicit or short))
        else:
            numbered.append(replace(bar, movement=movement))
    return numbered


def _movement_titles(
    first: str,
    titles_above: Sequence[str],
    bars: Sequence[Bar],
    directions: Sequence[Direction],
) -> tuple[str, ...]:
    """One title a movement; none for an only movement whose title heads the score already."""
    starts = [
        bar.index for bar in bars if bar.index and bar.movement != bars[bar.index - 1].movement
    ]
    if not starts:
        return (first,) if first and first not in titles_above else ()
    titles = [first]
    for index in starts:
        heading = heading_at(index, bars, directions)
        titles.append(heading.text if heading is not None else "")
    return tuple(titles)


def _moment(bars: Sequence[Bar], index: int, offset: Fraction) -> tuple[int, Fraction] | None:
    """(bar, onset) of a change; at a bar's very end it means the next bar, after the last none."""
    bar = bars[index]
    if offset < bar.length or (offset == 0 and bar.length == 0):
        return index, bar.start + offset
    if index + 1 < len(bars):
        return index + 1, bars[index + 1].start
    return None


def _keys(
    measures: Sequence[MeasureDraft], bars: Sequence[Bar], staves: int
) -> tuple[KeyChange, ...]:
    changes: list[KeyChange] = []
    now: dict[int | None, int] = {}
    for measure in measures:
        for offset, staff, fifths, mode in sorted(
            measure.keys, key=lambda each: (each[0], each[1] or 0)
        ):
            moment = _moment(bars, measure.index, offset)
            if moment is None:
                continue
            if staff is not None and _for_all(measure.keys, offset, fifths, staves):
                staff = None
            if now.get(staff, now.get(None)) == fifths:
                continue
            if staff is None:
                now.clear()
            now[staff] = fifths
            changes.append(KeyChange(moment[1], moment[0], fifths, mode, staff))
    return tuple(changes)


def _for_all(
    keys: Sequence[tuple[Fraction, int | None, int, str | None]],
    offset: Fraction,
    fifths: int,
    staves: int,
) -> bool:
    """Whether every staff is given the same key at one moment."""
    told = {staff for at, staff, each, _ in keys if at == offset and each == fifths}
    return None in told or len(told) >= staves


def _clefs(measures: Sequence[MeasureDraft], bars: Sequence[Bar]) -> tuple[ClefChange, ...]:
    changes: list[ClefChange] = []
    now: dict[int, tuple[str, int, int]] = {}
    for measure in measures:
        for offset, staff, sign, line, octaves in sorted(measure.clefs, key=lambda each: each[:2]):
            moment = _moment(bars, measure.index, offset)
            if moment is None or now.get(staff) == (sign, line, octaves):
                continue
            now[staff] = (sign, line, octaves)
            changes.append(ClefChange(moment[1], moment[0], staff, sign, line, octaves))
    return tuple(changes)


def _staves(halves: Sequence[list[MeasureDraft]]) -> int:
    if len(halves) == 2:
        return 2
    return max(measure.staves for measure in halves[0])
