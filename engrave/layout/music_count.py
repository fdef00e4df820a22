"""The count of the music: what the part shows stands on the page, once, in its bar and staff.

What must be there is told by the part alone, what is there by the report of boxes. Each is counted
by kind, bar and staff. A number is exact but for what good engraving allows: heads that two voices
share are printed once or twice, an accidental may be repeated at the head of a line, and rests that
several voices have at one moment may be merged.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Mapping, Set
from fractions import Fraction

from pedalsetter.analysis.part import Beam, Direction, DirectionKind, Event, HarpPart
from pedalsetter.engrave.layout.geometry import PageBoxes
from pedalsetter.engrave.notation.articulations import dynamic
from pedalsetter.engrave.notation.beams import source_has_beams
from pedalsetter.engrave.notation.heads import Need, needed_accidentals
from pedalsetter.engrave.notation.ornaments import ORNAMENTS
from pedalsetter.engrave.notation.seen import as_seen
from pedalsetter.engrave.notation.sharing import wandered_rests
from pedalsetter.engrave.notation.sheet import Notices
from pedalsetter.engrave.notation.slurs import pair_slurs

__all__ = ["count_failures", "staff_told"]

_Key = tuple[str, int, int]
"""What, the index of its bar (or -1: anywhere), its staff (or 0: any)."""

_KINDS: Mapping[str, tuple[str, bool]] = {
    "NoteHead": ("head", True),
    "Rest": ("rest", True),
    "Beam": ("beam", False),
    "Flag": ("flag", True),
    "Accidental": ("accidental", True),
    "AccidentalCautionary": ("accidental", True),
    "DynamicText": ("dynamic", False),
    "Slur": ("slur", False),
    "PhrasingSlur": ("slur", False),
    "Tie": ("tie", True),
    "LaissezVibrerTie": ("tie", True),
    "LyricText": ("syllable", False),
    "MetronomeMark": ("tempo mark", False),
    "RehearsalMark": ("rehearsal mark", False),
    "Fingering": ("fingering", True),
    "Dots": ("dot sign", True),
    "Ornament": ("ornament", True),
}
"""LilyPond's things, what they are called here, and whether they are counted by staves."""

_TEMPO = (DirectionKind.TEMPO_WORDS, DirectionKind.METRONOME)


class _Wanted:
    """How many of each thing there must be at least and may be at most."""

    def __init__(self) -> None:
        self.least: Counter[_Key] = Counter()
        self.spare: Counter[_Key] = Counter()

    def add(self, what: str, bar: int, staff: int, number: int = 1, *, must: bool = True) -> None:
        self.least[what, bar, staff] += number if must else 0
        self.spare[what, bar, staff] += 0 if must else number


def count_failures(part: HarpPart, boxes: PageBoxes) -> tuple[str, ...]:
    """A sentence for everything that is missing on the page or stands there too often.

    Takes time in proportion to the events of the part.
    """
    part = as_seen(part)
    wanted = _Wanted()
    for rule in (
        _heads,
        _dots_and_ornaments,
        _rests,
        _beams_and_flags,
        _on_notes,
        _slurs,
        _directions,
    ):
        rule(part, wanted)
    _accidentals(part, wanted, {line.start for line in boxes.lines})
    found, pages = _printed(part, boxes)
    kept = _rest_moments(part, boxes)
    failures = []
    for key in sorted(
        set(wanted.least) | set(wanted.spare) | set(found), key=lambda key: (key[1], key[2], key[0])
    ):
        least, most = wanted.least[key], wanted.least[key] + wanted.spare[key]
        if key[0] in ("beam", "flag") and not source_has_beams(part):
            continue
        if not least <= found[key] <= most:
            failures.append(_told(part, key, least, most, found[key], pages))
    failures += kept
    return tuple(failures)


def _printed(part: HarpPart, boxes: PageBoxes) -> tuple[Counter[_Key], Mapping[int, int]]:
    """What stands on the page, and the page on which each bar begins to have something."""
    starts = [bar.start for bar in part.bars]
    found: Counter[_Key] = Counter()
    pages: dict[int, int] = {}
    for count in boxes.counts:
        bar = max(bisect_right(starts, count.moment) - 1, 0)
        pages.setdefault(bar, count.page)
        kind = _KINDS.get(count.kind)
        if kind is not None:
            what, by_staff = kind
            found[what, bar, count.staff if by_staff else 0] += count.number
    return found, pages


def _heads(part: HarpPart, wanted: _Wanted) -> None:
    shared: Counter[tuple[Fraction, int, object, int]] = Counter()
    for event in part.events:
        if not event.visible:
            continue
        for head in event.heads:
            if head.shape == "none":
                continue
            place = (event.onset, event.staff, head.pitch.letter, head.pitch.octave)
            again = event.grace is None and shared[place] > 0
            shared[place] += event.grace is None
            wanted.add("head", event.bar, event.staff, must=not again)


def _dots_and_ornaments(part: HarpPart, wanted: _Wanted) -> None:
    """Signs of dots: one a head, of those that voices share one or more, and one a rest.

    An ornament with an accidental is text, a trill with a line stands on the line.
    """
    shared: set[tuple[Fraction, int, object, int]] = set()
    for event in part.events:
        if not event.visible:
            continue
        lined = any(end.kind == "wavy-line" and end.start for end in event.spanners)
        for ornament in event.ornaments if event.heads else ():
            plain = ornament.above is None and ornament.below is None
            on_line = lined and ornament.kind == "trill-mark"
            if ornament.kind in ORNAMENTS and plain and not on_line:
                wanted.add("ornament", event.bar, event.staff)
        if event.notated is None or not event.notated.dots:
            continue
        if not event.heads:
            wanted.add("dot sign", event.bar, event.staff, must=False)
        for head in event.heads:
            if head.shape == "none":
                continue
            place = (event.onset, event.staff, head.pitch.letter, head.pitch.octave)
            wanted.add("dot sign", event.bar, event.staff, must=place not in shared)
            shared.add(place)


def _rests(part: HarpPart, wanted: _Wanted) -> None:
    """At most as many as the part has; that none is missing is told by :func:`_rest_moments`."""
    for event in part.events:
        if not event.heads and event.visible and event.grace is None and not event.is_bar_rest:
            wanted.add("rest", event.bar, event.staff, must=False)


def _rest_moments(part: HarpPart, boxes: PageBoxes) -> list[str]:
    """A sentence for each moment at which a staff rests and no rest is printed."""
    printed = {(count.staff, count.moment) for count in boxes.counts if count.kind.endswith("Rest")}
    whole = {
        (count.staff, count.moment) for count in boxes.counts if count.kind == "MultiMeasureRest"
    }
    gone = wandered_rests(part)
    silent: defaultdict[int, set[int]] = defaultdict(set)
    resting: dict[tuple[int, Fraction], Event] = {}
    for event in part.events:
        if event.heads or not event.visible or event.grace is not None or event.id in gone:
            continue
        if event.is_bar_rest or event.length == part.bars[event.bar].length:
            silent[event.staff].add(event.bar)
        resting.setdefault((event.staff, event.onset), event)
    failures = []
    for (staff, onset), event in sorted(resting.items(), key=lambda item: item[0][::-1]):
        if (staff, onset) in printed:
            continue
        # one sign may stand for several silent bars
        bar = event.bar
        while bar > 0 and bar - 1 in silent[staff] and (staff, part.bars[bar].start) not in whole:
            bar -= 1
        if event.bar in silent[staff] and (staff, part.bars[bar].start) in whole:
            continue
        failures.append(
            f"{part.told_place(part.place_of(event))}, {staff_told(part, staff)}: a rest is missing"
        )
    return failures


def _beams_and_flags(part: HarpPart, wanted: _Wanted) -> None:
    running: dict[tuple[str, bool], list[Event]] = {}
    beamed: set[str] = set()
    for event in part.events:
        key = (event.voice, event.grace is not None)
        if event.beam is Beam.BEGIN:
            running[key] = []
        if event.beam is not None and event.heads and key in running:
            running[key].append(event)
        if event.beam is Beam.END and key in running:
            group = [one for one in running.pop(key) if _flags(one)]
            if len(group) > 1:
                wanted.add("beam", group[0].bar, 0)
                beamed.update(one.id for one in group)
    for event in part.events:
        if _flags(event) and event.id not in beamed and not event.stem_with:
            wanted.add("flag", event.bar, event.staff)
        if event.tremolo is not None and event.tremolo.kind == "start":
            wanted.add("beam", event.bar, 0, must=False)


def _flags(event: Event) -> bool:
    between_two = event.tremolo is not None and not event.tremolo.alone
    return (
        bool(event.heads)
        and event.stem != "none"
        and event.notated is not None
        and event.notated.flags > 0
        and not between_two
    )


def _accidentals(part: HarpPart, wanted: _Wanted, heads_of_lines: Set[Fraction]) -> None:
    shared: set[tuple[Fraction, int, object, int]] = set()
    for event, head, need in needed_accidentals(part):
        if not event.visible or head.shape == "none":
            continue
        place = (event.onset, event.staff, head.pitch.letter, head.pitch.octave)
        if (need is Need.YES or head.accidental is not None) and place not in shared:
            wanted.add("accidental", event.bar, event.staff)
        elif (
            need is not Need.NO
            or head.accidental is not None
            or (head.tie_stop and event.onset in heads_of_lines)
        ):
            # two voices may share a sign; at the head of a line a tied note shows its own anew
            wanted.add("accidental", event.bar, event.staff, must=False)
        shared.add(place)


def _on_notes(part: HarpPart, wanted: _Wanted) -> None:
    for event in part.events:
        if event.heads and event.visible:
            for head in event.heads:
                for lasts in (head.tie_start, head.let_ring):
                    wanted.add("tie", event.bar, event.staff, int(lasts))
                wanted.add("fingering", event.bar, event.staff, len(head.fingerings))
        if event.grace is None:
            syllables = sum(bool(lyric.text.strip()) for lyric in event.lyrics)
            wanted.add("syllable", event.bar, 0, syllables)
        letters = [text for text in event.dynamics if not dynamic(text).startswith(r"\markup")]
        wanted.add("dynamic", event.bar, 0, len(letters))


def _slurs(part: HarpPart, wanted: _Wanted) -> None:
    for pair in pair_slurs(part.events, Notices(part)):
        if pair.start.heads and pair.stop.heads:
            wanted.add("slur", pair.start.bar, 0)
            continue
        # at a hidden note or a rest it moves to the next note, if anything is left to hold
        for bar in range(pair.start.bar, pair.stop.bar + 1):
            wanted.add("slur", bar, 0, must=False)


def _directions(part: HarpPart, wanted: _Wanted) -> None:
    tempi: set[tuple[int, Fraction]] = set()
    rehearsals: set[tuple[int, Fraction]] = set()
    for direction in part.directions:
        bar = _bar_of(part, direction)
        if direction.kind is DirectionKind.DYNAMIC:
            if not dynamic(direction.text).startswith(r"\markup"):
                wanted.add("dynamic", bar, 0)
        elif direction.kind in _TEMPO and (direction.text.strip() or direction.beat_unit):
            tempi.add((bar, direction.onset))
        elif direction.kind is DirectionKind.REHEARSAL:
            rehearsals.add((bar, direction.onset))
    for bar, _ in tempi:
        wanted.add("tempo mark", bar, 0)
    for bar, _ in rehearsals:
        wanted.add("rehearsal mark", bar, 0)


def _bar_of(part: HarpPart, direction: Direction) -> int:
    """The bar where it is printed: at a bar's end it stands in the next one."""
    bar = direction.bar
    while bar + 1 < len(part.bars) and direction.onset >= part.bars[bar].end:
        bar += 1
    return bar


def _told(
    part: HarpPart, key: _Key, least: int, most: int, found: int, pages: Mapping[int, int]
) -> str:
    what, bar, staff = key
    place = f"bar {part.printed_bar(bar)}"
    if bar in pages:
        place = f"page {pages[bar]}, {place}"
    if staff:
        place += f", {staff_told(part, staff)}"
    right = least if found < least else most
    plural = "" if right == 1 else "s"
    return f"{place}: {found} of {right} {what}{plural} printed"


def staff_told(part: HarpPart, staff: int) -> str:
    """A staff as a musician calls it."""
    if part.staves == 2:
        return ("upper staff", "lower staff")[staff - 1]
    return f"staff {staff}"
