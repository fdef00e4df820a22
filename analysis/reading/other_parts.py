"""What the other parts of a full score say that concerns the harp too.

Tempo marks, rehearsal marks and signs of navigation hold for everyone, but a score prints (and
stores) them once, above its first part. And where the harp rests, only the others tell how long an
irregular bar is.
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
from pedalsetter.analysis.reading.draft import ZERO, MeasureDraft, Placed
from pedalsetter.analysis.reading.figures import decimal
from pedalsetter.analysis.reading.notices import Notices
from pedalsetter.analysis.reading.part_choice import ChosenPart
from pedalsetter.analysis.reading.part_list import PartInfo
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
        """Add what holds for everyone and the chosen part does not have itself.

        Of the first part all such signs, of the others the rehearsal marks: they are in one part
        alone, but not always in the first.
        """
        first = () if self._is_first else self._parts[:1]
        for part in first:
            self._add_of_first(said, self._directions_of(part, part.element, bars))
        for part in self._parts[len(first) :]:
            music = part.element if part.outline is None else part.outline.rehearsals
            if music is not None and next(music.iter("rehearsal"), None) is not None:
                _add_rehearsals(said, self._directions_of(part, music, bars))

    def _directions_of(
        self, part: PartInfo, music: etree._Element, bars: Sequence[Bar]
    ) -> DirectionFacts:
        placed = cut_directions(_placed(part.id, music), self._cuts)
        return read_directions(placed, bars, Notices())

    def _add_of_first(self, said: DirectionFacts, found: DirectionFacts) -> None:
        own = {(each.kind, each.bar, each.text) for each in said.directions}
        own_marks = {each.bar for each in said.directions if each.kind is DirectionKind.REHEARSAL}
        for direction in found.directions:
            if direction.kind not in FOR_ALL_STAVES or _is_for_one_player(direction, found):
                continue
            if (direction.kind, direction.bar, direction.text) in own:
                continue
            if direction.kind is DirectionKind.REHEARSAL and direction.bar in own_marks:
                continue
            said.directions.append(_for_everyone(direction))
        said.jumps.extend(found.jumps)
        known_signs = set(said.coda_signs)
        said.coda_signs.extend(sign for sign in found.coda_signs if sign not in known_signs)
        said.coda_signs.sort()
        known = {(speed.onset, speed.quarters_per_minute, speed.term) for speed in said.speeds}
        said.speeds.extend(
            speed
            for speed in found.speeds
            if (speed.onset, speed.quarters_per_minute, speed.term) not in known
        )


def _add_rehearsals(said: DirectionFacts, found: DirectionFacts) -> None:
    known = {each.bar for each in said.directions if each.kind is DirectionKind.REHEARSAL}
    said.directions.extend(
        _for_everyone(each)
        for each in found.directions
        if each.kind is DirectionKind.REHEARSAL and each.bar not in known
    )


def once_for_everyone(directions: Sequence[Direction]) -> list[Direction]:
    """The directions without those signs for everyone that two halves of a part both have."""
    known: set[tuple[DirectionKind, Fraction, str]] = set()
    kept = []
    for direction in directions:
        key = (direction.kind, direction.onset, direction.text)
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
            now = _number(text.text) or now
    return found


def _number(text: str | None) -> Fraction:
    return decimal(text) or ZERO


def _reach(measure: etree._Element, divisions: Fraction) -> Fraction:
    position = furthest = ZERO
    for child in measure:
        tag = child.tag
        if tag == "attributes":
            divisions = _number(child.findtext("divisions")) or divisions
        elif tag in ("note", "backup", "forward"):
            if tag == "note" and (
                child.find("chord") is not None or child.find("grace") is not None
            ):
                continue
            length = _number(child.findtext("duration")) / divisions
            position += -length if tag == "backup" else length
            if tag == "note":
                rest = child.find("rest")
                if rest is None or rest.get("measure") != "yes":
                    furthest = max(furthest, position)
    return furthest


def _placed(part: str, music: etree._Element) -> list[MeasureDraft]:
    """The directions of a part, named by its id, at their moments, its notes passed over."""
    measures = music.findall("measure")
    divisions = Fraction(1)
    drafts = []
    for index, element in enumerate(measures):
        draft = MeasureDraft(index, element, "", False)
        drafts.append(draft)
        position = ZERO
        if element.find("direction") is None and element.find("sound") is None:
            for text in element.iterfind("attributes/divisions"):
                divisions = _number(text.text) or divisions
            continue
        count = 0
        for child in element:
            tag = child.tag
            if tag == "attributes":
                divisions = _number(child.findtext("divisions")) or divisions
            elif tag in ("direction", "sound"):
                count += 1
                identity = f"{part}-m{index + 1}-d{count}"
                draft.directions.append(Placed(child, max(position, ZERO), divisions, identity))
            elif tag in ("note", "backup", "forward"):
                if tag == "note" and (
                    child.find("chord") is not None or child.find("grace") is not None
                ):
                    continue
                length = _number(child.findtext("duration")) / divisions
                position += -length if tag == "backup" else length
    return drafts
