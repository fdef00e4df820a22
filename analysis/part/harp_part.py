"""One harp part, whole."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.part.bars import Bar
from pedalsetter.analysis.part.directions import Direction
from pedalsetter.analysis.part.events import Event, Head
from pedalsetter.analysis.part.form import Jump, Section
from pedalsetter.analysis.part.in_force import ClefChange, KeyChange, Tempo
from pedalsetter.analysis.part.places import Place
from pedalsetter.analysis.part.source import DoubtfulWords, Notice, Source, SourceMark

__all__ = ["HarpPart"]


@dataclass(frozen=True, slots=True)
class HarpPart:
    """One harp part, whole: the value that every reader returns."""

    source: Source
    title: str
    composer: str
    part_name: str
    staves: int
    bars: tuple[Bar, ...]
    events: tuple[Event, ...]
    """By onset, then graces before their main note, then staff and voice."""
    directions: tuple[Direction, ...] = ()
    clefs: tuple[ClefChange, ...] = ()
    keys: tuple[KeyChange, ...] = ()
    tempi: tuple[Tempo, ...] = ()
    jumps: tuple[Jump, ...] = ()
    sections: tuple[Section, ...] = ()
    source_marks: tuple[SourceMark, ...] = ()
    subtitle: str = ""
    lyricist: str = ""
    arranger: str = ""
    rights: str = ""
    movement_titles: tuple[str, ...] = ()
    warnings: tuple[Notice, ...] = ()
    source_language: str = ""
    """The language of the source's pedal letters, as in ``German``; several that would read them
    alike are joined (``French or Italian``). Empty where the source has no letters."""
    doubtful_words: tuple[DoubtfulWords, ...] = ()
    """By place."""

    @property
    def length(self) -> Fraction:
        """Quarters from the first barline to the last, each bar once."""
        return self.bars[-1].end if self.bars else Fraction(0)

    def onset_of(self, place: Place) -> Fraction:
        """Score time of a place, in quarters."""
        return self.bars[place.bar].start + place.offset

    def place_of(self, what: Event | Direction | SourceMark | DoubtfulWords) -> Place:
        """Where an event, a direction or a mark stands on the page; grace notes at their note."""
        return Place(what.bar, what.onset - self.bars[what.bar].start)

    def printed_bar(self, bar: int) -> str:
        """The number printed at a bar given by its index."""
        return self.bars[bar].number

    def printed_beat(self, place: Place) -> str:
        """The beat as a player counts it: ``1``, ``2½``, ``3⅓`` as ``3+1/3``.

        Beats are counted in the lower figure of the signature. In a pickup, and in the first part
        of a split bar, counting begins so that the last beat of the bar is the signature's last.
        """
        count = self.beat_count(place)
        whole, rest = int(count), count - int(count)
        if not rest:
            return str(whole)
        if rest == Fraction(1, 2):
            return f"{whole}½"
        return f"{whole}+{rest}"

    def beat_count(self, place: Place) -> Fraction:
        """The beat as :meth:`printed_beat` prints it, as a number: 1 is the first."""
        bar = self.bars[place.bar]
        missing = bar.time.length - bar.length
        lead = missing if bar.implicit and bar.index == self._first_of_movement(bar) else 0
        return (place.offset + max(lead, Fraction(0))) / bar.time.count_unit + 1

    def __repr__(self) -> str:
        return f"<HarpPart {self.part_name} of {self.source.file}, {len(self.bars)} bars>"

    def told_place(self, place: Place) -> str:
        """A place in words, as messages and tables give it: ``bar 12, beat 2½``."""
        return f"bar {self.printed_bar(place.bar)}, beat {self.printed_beat(place)}"

    def movement_title(self, movement: int) -> str:
        """The title of a movement counted from 0, or its number from 1 if it has none."""
        titled = self.movement_titles[movement : movement + 1]
        return next((title for title in titled if title), str(movement + 1))

    def _first_of_movement(self, bar: Bar) -> int:
        index = bar.index
        while index and self.bars[index - 1].movement == bar.movement:
            index -= 1
        return index

    def notes(self) -> Iterator[tuple[Event, Head]]:
        """Every notehead with its event, in order; cues are included."""
        for event in self.events:
            for head in event.heads:
                yield event, head
