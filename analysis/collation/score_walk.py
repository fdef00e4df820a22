"""The way through the music as it is played: marks to obey and notes to strike, item by item."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import LETTERS, Harp, Letter, Position, Setting
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.glissandi import find_glissandi, held_by
from pedalsetter.analysis.playing.moments import Moments, find_moments, number_graces
from pedalsetter.analysis.playing.playing_order import playing_order
from pedalsetter.analysis.playing.strikes import Strike, read_strikes
from pedalsetter.analysis.playing.sustained import Keys

__all__ = ["Ask", "Item", "Move", "Walk", "lay_walk"]

Choice = tuple[Letter, Position]


@dataclass(frozen=True, slots=True)
class Ask:
    """Something struck that wants a letter in a position, or an equivalent in its own."""

    choices: tuple[Choice, ...]
    """The plan's string first; any of them sounds the note."""
    notes: tuple[str, ...]
    """Ids of the noteheads."""
    name: str
    """What is struck, as in ``F♯4``."""
    staff: int
    sounds: int
    """Microseconds from the strike to the end of the written sound."""
    begins: bool = True
    """False where a trill, tremolo or glissando goes on."""


@dataclass(frozen=True, slots=True)
class Move:
    """One pedal as one mark of the source gives it."""

    mark: SourceMark
    letter: Letter
    position: Position
    place: Place

    @property
    def is_diagram(self) -> bool:
        """Whether it belongs to a whole setting or to a diagram, complete or not."""
        return self.mark.kind == "diagram" or self.mark.setting() is not None

    @property
    def key(self) -> tuple[str, Letter]:
        """The same on every pass."""
        return self.mark.id, self.letter


@dataclass(frozen=True, slots=True)
class Item:
    """One moment as it is played: first the pedals move, then the notes are struck."""

    index: int
    place: Place
    microseconds: int
    """Since the player began, repeats counted."""
    movement: int
    run: int
    """Rises by one at each turn back or leap ahead: items of one run stand in page order."""
    moves: tuple[Move, ...]
    asks: tuple[Ask, ...]
    sliding: frozenset[Letter]
    """Letters of which a glissando that is under way has strings to come: they may not move."""
    unsaid: tuple[Letter, ...] = ()
    """Letters that a diagram at this moment should give and does not."""


@dataclass(frozen=True, slots=True)
class Walk:
    """All items in playing order, and for each letter where it is asked for and where marked."""

    items: tuple[Item, ...]
    needs: Mapping[Letter, Sequence[tuple[int, Position]]]
    """(index of the item, position) of the plan's strings."""
    moves: Mapping[Letter, Sequence[tuple[int, Move]]]
    planned: frozenset[tuple[Letter, Position, int]]
    """(letter, position, bar) of the plan's changes."""

    def next_need(self, letter: Letter, index: int) -> tuple[int, Position] | None:
        """The first need of a letter at or after an item."""
        needs = self.needs[letter]
        place = bisect_left(needs, index, key=lambda need: need[0])
        return needs[place] if place < len(needs) else None

    def last_need(self, letter: Letter, index: int) -> int:
        """The item before this one that needed a letter last, as planned; −1 if none did."""
        needs = self.needs[letter]
        place = bisect_left(needs, index, key=lambda need: need[0])
        return needs[place - 1][0] if place else -1

    def next_other_need(
        self, letter: Letter, index: int, position: Position
    ) -> tuple[int, Position] | None:
        """The first need of a letter after an item in another position than the one given."""
        needs = self.needs[letter]
        for place in range(bisect_left(needs, index + 1, key=lambda need: need[0]), len(needs)):
            if needs[place][1] is not position:
                return needs[place]
        return None

    def next_move(self, letter: Letter, index: int) -> tuple[int, Move] | None:
        """The first mark of a letter after an item."""
        moves = self.moves[letter]
        place = bisect_left(moves, index + 1, key=lambda move: move[0])
        return moves[place] if place < len(moves) else None


def lay_walk(part: HarpPart, plan: PedalPlan, harp: Harp) -> Walk:
    """Lay out the whole way; linear in the number of moments played."""
    clock = Clock(part)
    graces = number_graces(part)
    moments = find_moments(part, clock, graces)
    asks, sliding = _asks(part, plan, harp, moments, clock, graces)
    marks = _marks_by_bar(part)
    pages = {
        bar: _page(bar, moments, asks, sliding, marks.get(bar, {})) for bar in range(len(part.bars))
    }
    ends = [round(clock.seconds(bar.start) * 1_000_000) for bar in part.bars]
    ends.append(round(clock.seconds(part.length) * 1_000_000))
    items: list[Item] = []
    needs: dict[Letter, list[tuple[int, Position]]] = {letter: [] for letter in LETTERS}
    moves: dict[Letter, list[tuple[int, Move]]] = {letter: [] for letter in LETTERS}
    elapsed, run, before = 0, 0, -1
    for visit in playing_order(part).visits:
        bar = part.bars[visit.bar]
        run += visit.bar != before + 1
        before = visit.bar
        for place, page_time, here, asked, slides in pages[visit.bar]:
            index = len(items)
            time = elapsed + max(0, page_time - ends[visit.bar])
            unsaid = _unsaid(here)
            items.append(Item(index, place, time, bar.movement, run, here, asked, slides, unsaid))
            for ask in asked:
                letter, position = ask.choices[0]
                if not needs[letter] or needs[letter][-1] != (index, position):
                    needs[letter].append((index, position))
            for move in here:
                moves[move.letter].append((index, move))
        elapsed += ends[visit.bar + 1] - ends[visit.bar]
    planned = frozenset((each.letter, each.new, each.place.bar) for each in plan.changes)
    return Walk(tuple(items), needs, moves, planned)


_Page = list[tuple[Place, int, tuple[Move, ...], tuple[Ask, ...], frozenset[Letter]]]


_NONE = frozenset[Letter]()


def _page(
    bar: int,
    moments: Moments,
    asks: Mapping[int, Sequence[Ask]],
    sliding: Mapping[int, frozenset[Letter]],
    marks: Mapping[Fraction, Sequence[SourceMark]],
) -> _Page:
    """One bar as it stands on the page: (place, microseconds, moves, asks, sliding)."""
    found: _Page = []
    slots: defaultdict[Fraction, list[int]] = defaultdict(list)
    for moment in moments.of_bar(bar):
        slots[moments.places[moment].offset].append(moment)
    inside = moments.of_bar(bar)
    for offset in sorted({*slots, *marks}):
        here = slots.get(offset, [])
        if not here:
            before = [each for each in inside if moments.places[each].offset < offset]
            time = moments.microseconds[before[-1]] if before else moments.microseconds[inside[0]]
            slides = sliding.get(before[-1] + 1, _NONE) if before else _NONE
            moves = _shared_out([()], marks[offset], [Place(bar, offset)])
            found.append((Place(bar, offset), time, moves[0], (), slides))
            continue
        places = [moments.places[moment] for moment in here]
        asked = [tuple(asks.get(moment, ())) for moment in here]
        moves = _shared_out(asked, marks.get(offset, ()), places)
        for number, moment in enumerate(here):
            found.append(
                (
                    places[number],
                    moments.microseconds[moment],
                    moves[number],
                    asked[number],
                    sliding.get(moment, _NONE),
                )
            )
    return found


def _shared_out(
    asked: Sequence[tuple[Ask, ...]], marks: Sequence[SourceMark], places: Sequence[Place]
) -> list[tuple[Move, ...]]:
    """The marks of one moment given to its grace notes and its main note.

    A source does not tell whether a mark stands before the grace notes or after them. A pedal is
    given to the first note of the group that wants it so, else to the main note.
    """
    found: list[list[Move]] = [[] for _ in asked]
    latest: dict[Letter, int] = {}
    given = [
        (mark, Letter(name), Position(alter))
        for mark in marks
        for name, alter in mark.pedals
        if alter in (-1, 0, 1)
    ]
    last = {letter: number for number, (_, letter, _) in enumerate(given)}
    for number, (mark, letter, position) in enumerate(given):
        begin = latest.get(letter, 0)
        chosen = next(
            (
                place
                for place in range(begin, len(asked))
                if any(ask.choices[0] == (letter, position) for ask in asked[place])
            ),
            # What is to move again at this moment moves first of all.
            len(asked) - 1 if last[letter] == number else begin,
        )
        latest[letter] = chosen
        found[chosen].append(Move(mark, letter, position, places[chosen]))
    return [tuple(moves) for moves in found]


def _unsaid(moves: Sequence[Move]) -> tuple[Letter, ...]:
    """What diagrams of at least four pedals leave unsaid; smaller ones are rather changes."""
    found: set[Letter] = set()
    for mark in {move.mark.id: move.mark for move in moves if move.is_diagram}.values():
        named = {letter for letter, alter in mark.pedals if alter in (-1, 0, 1)}
        if len(named) >= _MOST_OF_A_DIAGRAM:
            found |= {letter for letter in LETTERS if letter.value not in named}
    return tuple(letter for letter in LETTERS if letter in found)


_MOST_OF_A_DIAGRAM = 4


def _marks_by_bar(part: HarpPart) -> dict[int, dict[Fraction, list[SourceMark]]]:
    found: dict[int, dict[Fraction, list[SourceMark]]] = {}
    for mark in part.source_marks:
        offset = mark.onset - part.bars[mark.bar].start
        found.setdefault(mark.bar, {}).setdefault(offset, []).append(mark)
    return found


def _asks(
    part: HarpPart,
    plan: PedalPlan,
    harp: Harp,
    moments: Moments,
    clock: Clock,
    graces: Mapping[str, int],
) -> tuple[dict[int, list[Ask]], dict[int, frozenset[Letter]]]:
    """What each moment asks for, and what a glissando holds at those within it."""
    strikes = read_strikes(part, harp, moments, clock, graces)
    settings = list(_settings(plan, moments))
    asks: dict[int, list[Ask]] = {}
    for moment, group in sorted(strikes.items()):
        for strike in group:
            ask = _ask(strike, plan, harp, settings[moment], moments.microseconds[moment])
            if ask is None:
                continue
            asks.setdefault(moment, []).append(ask)
            for later in range(moment + 1, strike.lasts + 1):
                sounds = max(0, strike.until - moments.microseconds[later])
                asks.setdefault(later, []).append(
                    Ask(ask.choices, ask.notes, ask.name, ask.staff, sounds, begins=False)
                )
    lines = [
        line
        for line in find_glissandi(part, Keys(part), graces)
        if not any(
            plan.strings.get(note) is not None and plan.strings[note].sounding is None
            for note in line.notes
        )
    ]
    for line in lines:
        span = line.span(part, moments, graces)
        first = span[0]
        # Of the line's letters only the ends are written; the source's own diagram knows better.
        given = None if line.given is not None else _diagram_before(part, moments, strikes, first)
        for letter, inferred in line.setting.items():
            last = line.held_to(letter, part, moments, span)
            position = inferred if given is None else given[letter]
            if given is None and settings[first][letter] is not position:
                # Not what the plan could give either; the plan's findings say so.
                continue
            for moment in range(first, last + 1):
                name = f"the glissando's {letter.value}{position.sign}"
                asks.setdefault(moment, []).append(
                    Ask(
                        ((letter, position),),
                        line.notes,
                        name,
                        line.start.staff,
                        0,
                        begins=moment == first,
                    )
                )
    return asks, held_by(lines, part, moments, graces)


def _diagram_before(
    part: HarpPart, moments: Moments, strikes: Mapping[int, Sequence[Strike]], first: int
) -> Setting | None:
    """The setting that the source prints for a glissando, at the last note before it or later."""
    before = max((moment for moment in strikes if moment < first), default=None)
    since = Place(-1, Fraction(0)) if before is None else moments.places[before]
    found = None
    for mark in part.source_marks:
        place = part.place_of(mark)
        if since <= place <= moments.places[first]:
            found = mark.setting() or found
    return found


def _ask(
    strike: Strike, plan: PedalPlan, harp: Harp, setting: Setting, page_time: int
) -> Ask | None:
    """What a strike asks for; None if no pedal matters, or if the plan cannot sound it either."""
    use = plan.strings.get(strike.head.id) if strike.real else None
    if use is not None and use.sounding is None:
        return None
    planned = use.sounding if use is not None else None
    if planned is not None and not harp.works_by_pedal(planned.string):
        return None
    playable = [one for one in strike.soundings if harp.works_by_pedal(one.string)]
    if not playable:
        return None
    choices = [(one.letter, one.position) for one in playable]
    if planned is not None:
        choices.sort(key=lambda one: one != (planned.letter, planned.position))
    else:
        choices.sort(key=lambda one: setting[one[0]] is not one[1])
    if setting[choices[0][0]] is not choices[0][1]:
        return None
    until = max(0, strike.until - page_time)
    return Ask(tuple(choices), (strike.head.id,), str(strike.pitch), strike.staff, until)


def _settings(plan: PedalPlan, moments: Moments) -> Iterator[Setting]:
    """The plan's setting at each moment, in score order."""
    entries = dict(plan.entries)
    entries.update({movement.first_bar: movement.opening for movement in plan.movements})
    setting = Setting.of_key(0)
    turn, bar = 0, -1
    for place in moments.places:
        if place.bar != bar:
            for index in range(bar + 1, place.bar + 1):
                while turn < len(plan.changes) and plan.changes[turn].place.bar < index:
                    setting = setting.moved(plan.changes[turn].letter, plan.changes[turn].new)
                    turn += 1
                setting = entries.get(index, setting)
            bar = place.bar
        while turn < len(plan.changes) and plan.changes[turn].place <= place:
            change = plan.changes[turn]
            setting = setting.moved(change.letter, change.new)
            turn += 1
        yield setting
