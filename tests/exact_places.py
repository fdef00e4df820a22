"""What an exact search for a cheapest plan must serve: stretches of bars, places, slots and notes.

Read from the part and from the documented prices of ``Weights``, not with the planner's code. Parts
may have chords, ties and repeats, in C major also trills and tremolos within a bar that are not
tied, but no grace notes or glissandi, and one tempo. Times are in microseconds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from replay import unfold

from pedalsetter.analysis.instrument.harp import Harp, Letter, Position
from pedalsetter.analysis.instrument.respelling import Pitch, strings_for
from pedalsetter.analysis.part import Event, HarpPart, Head
from pedalsetter.analysis.planning.weights import Weights, register_of


@dataclass(frozen=True)
class Option:
    """One letter for notes of one name, and the position that it needs.

    ``sounds`` tells of each note until when it is written to sound and in which register;
    ``price`` is what it costs to respell them so. ``stroke`` is when it is struck for the last time
    and ``hold`` the last place at which it is struck again, −1 for both if it is struck once.
    """

    letter: Letter
    position: Position
    sounds: tuple[tuple[int, int], ...]
    price: int
    stroke: int = -1
    hold: int = -1


@dataclass(frozen=True)
class Group:
    """Notes of one name struck together: they share a letter, or all are lost."""

    notes: tuple[str, ...]
    options: tuple[Option, ...]

    def lost(self, weights: Weights) -> int:
        """What it costs to leave them out; the neighbour that a trill adds is half a note."""
        return sum(weights.lost // (2 if note.endswith("+") else 1) for note in self.notes)


@dataclass(frozen=True)
class Place:
    """An onset, a beat or a barline of one stretch; the last one of a stretch may be its end.

    ``price`` is what a mark there costs and ``move`` what one move costs there; ``slots`` are the
    times in which one foot can move, the last one first; ``at`` is the bar and the offset in it,
    None for the end. A move there is early from ``counted`` on; with ``spread`` the slots lie in a
    rest before the diagram of a section, and with ``shown`` such a diagram stands there.
    """

    time: int
    price: int
    at: tuple[int, Fraction] | None
    slots: tuple[int, ...]
    groups: tuple[Group, ...] = ()
    move: int = 0
    counted: int = 0
    spread: bool = False
    shown: bool = False


@dataclass(frozen=True)
class Stretch:
    """Bars through which music always runs straight on, and the nodes where it is entered and left.

    The pedals stand alike wherever a node is passed; ``leave`` is None where nothing follows.
    """

    places: tuple[Place, ...]
    end: int
    entry: int
    leave: int | None


def stretches(part: HarpPart, weights: Weights, pinned: Sequence[str] = ()) -> list[Stretch]:
    """All stretches in printed order; notes that are ``pinned`` share their letter with none."""
    return _Reader(part, weights, frozenset(pinned)).read()


class _Reader:
    def __init__(self, part: HarpPart, weights: Weights, pinned: frozenset[str]) -> None:
        self.part, self.weights, self.pinned = part, weights, pinned
        self.tempo = part.tempi[0].quarters_per_minute if part.tempi else Fraction(72)
        self.pairs: dict[str, Event] = {}
        """By the first event of a tremolo between two the second one."""
        for staff in (1, 2):
            own = [event for event in part.events if event.staff == staff]
            for first, second in pairwise(own):
                kinds = [one.tremolo.kind for one in (first, second) if one.tremolo is not None]
                if kinds == ["start", "stop"]:
                    self.pairs[first.id] = second
        self.seconds = {second.id for second in self.pairs.values()}

    def read(self) -> list[Stretch]:
        part = self.part
        order = list(unfold(part))
        follows: dict[int, set[int]] = {}
        for before, after in pairwise(order):
            if part.bars[before].movement == part.bars[after].movement:
                follows.setdefault(before, set()).add(after)
        for index in range(1, len(part.bars)):
            same = part.bars[index].movement == part.bars[index - 1].movement
            if index not in order and same:
                follows.setdefault(index - 1, set()).add(index)
        # A bar is entered at node 2 n and left at node 2 n + 1; where one leads to another they
        # are one node, for the pedals stand alike on both sides.
        nodes = list(range(2 * len(part.bars)))

        def root(node: int) -> int:
            while nodes[node] != node:
                node = nodes[node]
            return node

        for before, afters in follows.items():
            for after in afters:
                nodes[root(2 * before + 1)] = root(2 * after)
        ways_in: dict[int, int] = {}
        ways_out: dict[int, int] = {}
        for index in range(len(part.bars)):
            ways_out[root(2 * index)] = ways_out.get(root(2 * index), 0) + 1
            ways_in[root(2 * index + 1)] = ways_in.get(root(2 * index + 1), 0) + 1
        starts = {
            root(2 * index)
            for index in range(len(part.bars))
            if not index or part.bars[index].movement != part.bars[index - 1].movement
        }
        straight = {
            node
            for node in ways_out
            if ways_out[node] == 1 and ways_in.get(node) == 1 and node not in starts
        }
        found = []
        for index in range(len(part.bars)):
            if root(2 * index) in straight:
                continue
            bars = [index]
            while root(2 * bars[-1] + 1) in straight:
                node = root(2 * bars[-1] + 1)
                bars.append(next(b for b in range(len(part.bars)) if root(2 * b) == node))
            leave = root(2 * bars[-1] + 1)
            followed = leave in ways_out
            # A diagram after barlines tells what is moved before them on all the ways to it.
            told = sum(root(2 * b + 1) == leave for b in range(len(part.bars)))
            told *= self.leads([b for b in range(len(part.bars)) if root(2 * b) == leave])
            beside = [b for b in range(len(part.bars)) if root(2 * b) == root(2 * index)]
            entered = root(2 * index) in ways_in and self.leads(beside)
            sections = self.sections() - (set() if entered else {index})
            places, end = self.places(bars, followed, told, sections)
            if entered and len(beside) == 1:
                places = (replace(places[0], slots=()), *places[1:])
            found.append(Stretch(places, end, root(2 * index), leave if followed else None))
        return found

    def microseconds(self, onset: Fraction) -> int:
        return round(onset * 60 * 1_000_000 / self.tempo)

    def leads(self, bars: list[int]) -> bool:
        """Whether there are such bars, and a diagram before each of them."""
        return bool(bars) and set(bars) <= self.sections()

    def places(
        self, bars: list[int], followed: bool, told: int, sections: set[int]
    ) -> tuple[tuple[Place, ...], int]:
        """The places of a stretch, and when it ends.

        ``told`` are the ways to the diagram at its end, ``sections`` the bars with one in it.
        """
        part, weights = self.part, self.weights
        found: list[Place] = []
        shift = 0
        end = 0
        trembling = -1
        played: set[int] = set()
        for number, index in enumerate(bars):
            bar = part.bars[index]
            if (number and index != bars[number - 1] + 1) or not number:
                shift = end - self.microseconds(bar.start)
            events: dict[Fraction, list[Event]] = {}
            rests = set()
            for event in part.events:
                if event.bar == index and event.heads:
                    events.setdefault(event.onset - bar.start, []).append(event)
                elif event.bar == index and event.visible:
                    rests.add(event.onset - bar.start)
            beats = set()
            beat = Fraction(0)
            while beat < bar.length:
                beats.add(beat)
                beat += bar.time.beat
            offsets = sorted(beats | rests | set(events))
            first = len(found)
            for offset in offsets:
                heads = [
                    (event, head)
                    for event in events.get(offset, [])
                    for head in event.heads
                    if not head.tie_stop and event.id not in self.seconds
                ]
                # Both halves of a tremolo are struck from its beginning.
                heads += [
                    (self.pairs[event.id], head)
                    for event in events.get(offset, [])
                    if event.id in self.pairs
                    for head in self.pairs[event.id].heads
                ]
                price = 0 if not offset else weights.beat if offset in beats else weights.off_beat
                if offset not in beats and (offset / bar.time.beat).denominator > 3:
                    price += weights.fine
                time = self.microseconds(bar.start + offset) + shift
                slots: tuple[int, ...] = (time,)
                if found:
                    gap = time - found[-1].time
                    slots += tuple(found[-1].time + (gap >> later) for later in range(1, 4))
                else:
                    price += weights.at_turn
                again = {
                    event.id: (
                        self.microseconds(self.end(event) - _stroke(event)) + shift,
                        first + sum(at < self.end(event) - bar.start for at in offsets) - 1,
                    )
                    for event, _ in heads
                    if event.ornaments or event.tremolo is not None
                }
                heads += [(event, _neighbour(event)) for event, _ in heads if event.ornaments]
                groups = self.groups(list(dict.fromkeys(heads)), shift, again)
                if any(group.options for group in groups) or trembling >= len(found):
                    price += weights.under_notes
                    played.add(len(found))
                found.append(Place(time, price, (index, offset), slots, groups))
                trembling = max([trembling, *(place for _, place in again.values())])
            end = self.microseconds(bar.end) + shift
        found = self.at_ease(found, played, end, sections)
        if followed:
            last = found[-1].time
            slots = tuple(last + (end - last >> later + 1) for later in range(4))
            price, move = weights.after_last, weights.change
            if told:
                slots = (end, *slots[:-1])
                price, move = 0, self.told(found, played, end, len(found)) // told
            found.append(Place(slots[0], price, None, slots, (), move, slots[0], shown=told > 0))
        return tuple(found), end

    def sections(self) -> set[int]:
        """The bars that begin sections, but for those that begin movements."""
        bars = self.part.bars
        return {
            section.bar
            for section in self.part.sections
            if section.bar and bars[section.bar].movement == bars[section.bar - 1].movement
        }

    def told(self, places: list[Place], played: set[int], stop: int, number: int) -> int:
        """What a move costs that a diagram tells: less after a breath, which ends at ``stop``."""
        before = max([one for one in played if one < number], default=0)
        breath = stop - places[before].time >= self.weights.breath_seconds * 1_000_000
        return self.weights.at_diagram if breath else self.weights.at_section

    def at_ease(
        self, places: list[Place], played: set[int], end: int, sections: set[int]
    ) -> list[Place]:
        """What rests and the diagrams of sections do to places, of which some are ``played``."""
        weights = self.weights
        found: list[Place] = []
        soon = -1
        resting = self.resting(places, played)
        struck = {
            place.at[0]
            for place, rest in zip(places, resting, strict=True)
            if not rest and place.at
        }
        for number, place in enumerate(places):
            assert place.at is not None
            bar, offset = place.at
            price, move, slots, spread = place.price, weights.change, place.slots, False
            shown = not offset and bar in sections
            first, last = number, number
            while first > 0 and resting[first - 1]:
                first -= 1
            while last < len(places) and resting[last]:
                last += 1
            stop = places[last].time if last < len(places) else end
            # In one rest there is one diagram.
            shown = shown and not any(one.shown for one in found[first:number])
            if shown:
                soon = bar + 2
                move = self.told(places, played, stop, number)
                silence = stop - places[first].time
                if silence >= 5 * weights.comfortable_seconds * 1_000_000:
                    widest = weights.comfortable_seconds * weights.two_notches * 1_000_000
                    step = min(int(widest), silence // 5)
                    final = stop - (step if last > number else 0)
                    slots, spread = tuple(final - later * step for later in range(4)), True
            elif bar < soon:
                price += weights.after_diagram
            if number and resting[number] and resting[number - 1] and not shown:
                one = places[number - 1].at
                alone = one is not None and not {bar, one[0]} & struck
                price += weights.splits_rest if alone else weights.within_rest
            later = number
            while later < len(places) and resting[later]:
                later += 1
            counted = places[later].time if later < len(places) else end
            found.append(
                replace(
                    place,
                    price=price,
                    slots=slots,
                    move=move,
                    counted=counted,
                    spread=spread,
                    shown=shown,
                )
            )
        return found

    def resting(self, places: list[Place], played: set[int]) -> list[bool]:
        """At which places nothing is written to sound."""
        found = []
        last = 0
        for number, place in enumerate(places):
            found.append(number not in played and place.time >= last)
            for group in place.groups:
                for option in group.options:
                    last = max([last, *(until for until, _ in option.sounds)])
        return found

    def end(self, event: Event) -> Fraction:
        """When an event ends, or the tremolo that it is the first half of."""
        return self.pairs[event.id].end if event.id in self.pairs else event.end

    def until(self, event: Event, head: Head, shift: int) -> int:
        """When a note is written to end, ties followed."""
        end = self.end(event)
        open_tie = head.tie_start
        for other in self.part.events:
            for again in other.heads:
                if open_tie and other.onset == end and again.tie_stop and again.pitch == head.pitch:
                    end, open_tie = other.end, again.tie_start
                    break
        return self.microseconds(end) + shift

    def groups(
        self,
        heads: list[tuple[Event, Head]],
        shift: int,
        again: Mapping[str, tuple[int, int]],
    ) -> tuple[Group, ...]:
        """The notes struck at one place, those of one name and the same strings together.

        ``again`` tells of trills and tremolos when and up to which place they are struck again.
        """
        alike: dict[tuple[object, ...], list[tuple[Event, Head]]] = {}
        for event, head in heads:
            strings = [one for one in strings_for(head.pitch) if Harp().has(one.string)]
            letters = tuple(sorted(one.letter.value for one in strings))
            key = (letters, head.pitch.name, head.id in self.pinned)
            alike.setdefault(key, []).append((event, head))
        found = []
        for members in alike.values():
            written = members[0][1].pitch
            strings = [one for one in strings_for(written) if Harp().has(one.string)]
            options = []
            for one in sorted(strings, key=lambda string: string.letter.value):
                if abs(written.alter) == 2:
                    # Free, unless it takes B♯, C♭, E♯ or F♭ where a natural would serve.
                    natural = any(other.position is Position.NATURAL for other in strings)
                    charged = natural and one.position is not Position.NATURAL
                else:
                    charged = one.letter is not written.letter
                sounds = tuple(
                    (self.until(event, head, shift), register_of(sounding.string.octave))
                    for event, head in members
                    for sounding in strings_for(head.pitch)
                    if sounding.letter is one.letter
                )
                price = self.weights.respelled * len(members) if charged else 0
                held = [again[event.id] for event, head in members if _held(event, head, again)]
                stroke = max((stroke for stroke, _ in held), default=-1)
                hold = max((place for _, place in held), default=-1)
                options.append(Option(one.letter, one.position, sounds, price, stroke, hold))
            found.append(Group(tuple(head.id for _, head in members), tuple(options)))
        return tuple(found)


def _held(event: Event, head: Head, again: Mapping[str, tuple[int, int]]) -> bool:
    """Whether a note goes on: all of a tremolo, of a trill the highest note and its neighbour."""
    if event.id not in again:
        return False
    return event.tremolo is not None or head in (event.heads[-1], _neighbour(event))


def _neighbour(event: Event) -> Head:
    """The note of C major above a trilled one."""
    head = event.heads[-1]
    scale = "CDEFGAB"
    step = scale.index(head.pitch.letter.value) + 1
    pitch = Pitch(Letter(scale[step % 7]), 0, head.pitch.octave + step // 7)
    return replace(head, id=f"{head.id}+", pitch=pitch)


def _stroke(event: Event) -> Fraction:
    """How long before its end a trill or tremolo is struck for the last time.

    One stroke of a tremolo is an eighth note, two are sixteenths, three thirty-seconds, flags
    counted (common practice, no source); what is faster has no measure.
    """
    if event.tremolo is None:
        return Fraction(0)
    assert event.notated is not None
    strokes = event.tremolo.marks + max(0, event.notated.log - 2)
    return min(Fraction(1, 2**strokes), event.length) if strokes <= 3 else Fraction(0)
