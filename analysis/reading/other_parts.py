"""What the other parts of a full score say that concerns the harp too.

Tempo marks, rehearsal marks and signs of navigation hold for everyone, but a score stores them
once, mostly above its first part, sometimes in an inner one. And where the harp rests, only the
others tell how long an irregular bar is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.part import (
    FOR_ALL_STAVES,
    Bar,
    Direction,
    DirectionKind,
    TimeSignature,
)
from pedalsetter.analysis.reading.attributes import read_time
from pedalsetter.analysis.reading.directions import DirectionFacts, read_directions
from pedalsetter.analysis.reading.draft import ZERO
from pedalsetter.analysis.reading.notices import Notices
from pedalsetter.analysis.reading.part_choice import ChosenPart
from pedalsetter.analysis.reading.part_list import PartInfo
from pedalsetter.analysis.reading.signs_for_all import (
    clocked,
    drafts_with,
    length_of,
    placed_directions,
)
from pedalsetter.analysis.reading.split_bars import Cuts, cut_directions
from pedalsetter.analysis.reading.tempo_words import tempo_term

__all__ = ["OtherParts", "once_for_everyone"]


class OtherParts:
    """The parts that are not read, asked only for what is missing."""

    def __init__(
        self,
        parts: Sequence[PartInfo],
        choice: ChosenPart,
        once_more: Callable[[], Iterable[etree._Element]] = tuple,
    ) -> None:
        """``once_more`` gives the music of parts that was let go while the score was parsed."""
        chosen = {part.number for part in choice.parts}
        self._parts = [part for part in parts if part.number not in chosen]
        self._is_first = 1 in chosen
        self._once_more = once_more
        self._reaches: dict[int, Fraction] = {}
        self._cuts: Cuts = {}

    def names(self) -> list[str]:
        """Names and abbreviations of these parts."""
        return [name for part in self._parts for name in (part.name, part.abbreviation)]

    def first_time(self) -> TimeSignature | None:
        """The signature with which the first of them begins."""
        for part in self._parts:
            outline = part.outline
            time = part.element.find("measure/attributes/time") if outline is None else outline.time
            if time is not None:
                return read_time(time, Notices())
        return None

    def cut(self, cuts: Cuts) -> None:
        """Let the bars of these parts be cut where those of the chosen part were."""
        self._cuts = cuts

    def measure(self, bars: Sequence[int]) -> None:
        """Find out how far these parts reach in some bars, for :meth:`reach` to tell."""
        if not self._parts or self._cuts or not bars:
            # Once bars are cut, places in the source are no longer indices of bars.
            return
        self._reaches = dict.fromkeys(bars, ZERO)
        let_go = [part.outline for part in self._parts if part.outline is not None]
        for part in self._parts:
            if part.outline is None:
                self._note_reaches(part.element.findall("measure"))
        if set(bars) == {0}:
            for outline in let_go:
                if outline.opening is not None:
                    self._note_reaches([outline.opening])
        elif let_go:
            for element in self._once_more():
                self._note_reaches(element.findall("measure"))

    def _note_reaches(self, measures: Sequence[etree._Element]) -> None:
        divisions = _divisions(measures)
        for bar, known in self._reaches.items():
            if bar < len(measures):
                self._reaches[bar] = max(known, _reach(measures[bar], divisions[bar]))

    def reach(self, bar: int) -> Fraction:
        """How far the notes of the other parts reach in a bar, whole-bar rests left aside."""
        return self._reaches.get(bar, ZERO)

    def add_signs_for_everyone(self, said: DirectionFacts, bars: Sequence[Bar]) -> None:
        """Add the other parts' signs for everyone, each once; the parts above go first."""
        for place, part in enumerate(self._parts):
            self._add_signs_of(part, place == 0 and not self._is_first, said, bars)

    def _add_signs_of(
        self, part: PartInfo, is_top: bool, said: DirectionFacts, bars: Sequence[Bar]
    ) -> None:
        """``is_top``: the part stands above all others, and what it says is believed."""
        outline = part.outline
        if outline is None:
            signs = placed_directions(part.element, part.id)
            count = len(part.element.findall("measure"))
        else:
            signs, count = list(outline.signs), outline.bars
        if not signs:
            return
        drafts = cut_directions(drafts_with(signs, count), self._cuts)
        found = read_directions(drafts, bars, Notices())
        own = {_sameness(each) for each in said.directions}
        marked = {each.bar for each in said.directions if each.kind is DirectionKind.REHEARSAL}
        timed = {(each.kind, each.onset) for each in said.directions if each.kind in _TEMPO}
        moments = {each.onset for each in said.directions if each.kind in _TEMPO}
        for direction in found.directions:
            if direction.kind not in FOR_ALL_STAVES or _is_for_one_player(direction, found):
                continue
            if _sameness(direction) in own:
                continue
            if direction.kind is DirectionKind.REHEARSAL and direction.bar in marked:
                continue
            # Of two tempi at one moment the upper part's is right.
            if direction.kind in _TEMPO and (
                (direction.kind, direction.onset) in timed
                or (not is_top and direction.onset in moments)
            ):
                continue
            said.directions.append(_for_everyone(direction))
        known_jumps = {(jump.bar, jump.kind) for jump in said.jumps}
        said.jumps.extend(
            jump for jump in found.jumps if is_top or (jump.bar, jump.kind) not in known_jumps
        )
        known_signs = set(said.coda_signs)
        said.coda_signs.extend(sign for sign in found.coda_signs if sign not in known_signs)
        said.coda_signs.sort()
        # Who says how fast, and how fast that is, comes from one part.
        known = {speed.onset for speed in said.speeds}
        exact = {(speed.onset, speed.quarters_per_minute, speed.term) for speed in said.speeds}
        said.speeds.extend(
            speed
            for speed in found.speeds
            if ((speed.onset, speed.quarters_per_minute, speed.term) not in exact)
            and (is_top or ((speed.printed or speed.term is not None) and speed.onset not in known))
        )


_TEMPO = (DirectionKind.TEMPO_WORDS, DirectionKind.METRONOME)


def _sameness(direction: Direction) -> tuple[DirectionKind, int, str]:
    """What is equal of two signs that stand for one."""
    return direction.kind, direction.bar, " ".join(direction.text.casefold().split())


def once_for_everyone(directions: Sequence[Direction]) -> list[Direction]:
    """The directions without those signs for everyone that are there already.

    Halves of a part, and staves of it, may both have them.
    """
    known: set[tuple[DirectionKind, Fraction, str]] = set()
    kept = []
    for direction in directions:
        text = " ".join(direction.text.casefold().split())
        key = (direction.kind, direction.onset, text)
        if direction.kind in FOR_ALL_STAVES:
            if key in known:
                continue
            known.add(key)
        kept.append(direction)
    return kept


def _is_for_one_player(direction: Direction, found: DirectionFacts) -> bool:
    """Whether words stand in the tempo's row of another part only because they are bold.

    *Solo* above the flute is nothing for the harp; a large heading is.
    """
    if direction.kind is not DirectionKind.TEMPO_WORDS:
        return False
    if tempo_term(direction.text) is not None or (direction.size_points or 0) >= 14:
        return False
    return not any(speed.onset == direction.onset for speed in found.speeds)


def _for_everyone(direction: Direction) -> Direction:
    return replace(direction, staff=None, placement=direction.placement or "above")


def _divisions(measures: Sequence[etree._Element]) -> list[Fraction]:
    """The divisions in force at the beginning of each measure."""
    now = Fraction(1)
    found = []
    for measure in measures:
        found.append(now)
        for text in measure.iterfind("attributes/divisions"):
            now = length_of(text.text) or now
    return found


def _reach(measure: etree._Element, divisions: Fraction) -> Fraction:
    furthest = ZERO
    for child, position, _ in clocked(measure, divisions):
        if child.tag == "note":
            rest = child.find("rest")
            if rest is None or rest.get("measure") != "yes":
                furthest = max(furthest, position)
    return furthest
