"""``<direction>`` and ``<sound>``: words, dynamics, hairpins, tempo, navigation, pedal diagrams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.part import (
    Bar,
    Direction,
    DirectionKind,
    Jump,
    JumpKind,
    NotatedLength,
    SourceMark,
)
from pedalsetter.analysis.reading.draft import ZERO, MeasureDraft, Placed
from pedalsetter.analysis.reading.figures import decimal, whole
from pedalsetter.analysis.reading.jump_words import jump_of_words
from pedalsetter.analysis.reading.notations import dynamics_of, number_of
from pedalsetter.analysis.reading.note_values import LOG
from pedalsetter.analysis.reading.notices import Notices
from pedalsetter.analysis.reading.printed_text import (
    joined_dynamics,
    joined_words,
    points,
    speed_of_figure,
    without_private_signs,
)
from pedalsetter.analysis.reading.source_marks import letters_of_words, pedals_of_diagram
from pedalsetter.analysis.reading.source_words import may_be_pedal_words
from pedalsetter.analysis.reading.tempo_words import TempoTerm, tempo_figure, tempo_term

__all__ = ["DirectionFacts", "SpeedMark", "read_directions"]


@dataclass(frozen=True, slots=True)
class SpeedMark:
    """A word, figure or sound that says something about speed."""

    onset: Fraction
    quarters_per_minute: Fraction | None
    printed: bool
    """A figure that is printed outranks one that is only played."""
    term: TempoTerm | None = None


@dataclass(slots=True)
class DirectionFacts:
    """All that the directions of a part say."""

    directions: list[Direction] = field(default_factory=list)
    jumps: list[Jump] = field(default_factory=list)
    coda_signs: list[tuple[int, bool]] = field(default_factory=list)
    """(bar, at its end) of coda signs of which nothing says whether one jumps from or to them."""
    speeds: list[SpeedMark] = field(default_factory=list)
    source_marks: list[SourceMark] = field(default_factory=list)
    """The source's diagrams."""
    pedal_words: list[str] = field(default_factory=list)
    """Ids of directions whose words may be pedal letters; all of them together tell."""


def read_directions(
    measures: Sequence[MeasureDraft], bars: Sequence[Bar], notices: Notices
) -> DirectionFacts:
    """Read every direction of a part into its place in score time."""
    facts = DirectionFacts()
    for measure, bar in zip(measures, bars, strict=False):
        for placed in measure.directions:
            _Reader(placed, bar, len(bars), facts, notices).read()
    return facts


class _Reader:
    """Reads one ``<direction>`` (or a ``<sound>`` that stands alone)."""

    def __init__(
        self, placed: Placed, bar: Bar, bars: int, facts: DirectionFacts, notices: Notices
    ) -> None:
        self.element = placed.element
        self.placed = placed
        self.bar = bar
        self.bars = bars
        self.facts = facts
        self.notices = notices
        self.count = 0
        self.staff: int | None = None
        self.placement = self.element.get("placement")
        self.offset = placed.offset
        self.sound_offset = placed.offset

    def read(self) -> None:
        if self.element.tag == "sound":
            self.notices.at(self.bar.index, self.offset, self.placed.half or 1)
            self._sound(self.element, had_figure=False, words="")
            return
        staff_text = (self.element.findtext("staff") or "").strip()
        if self.placed.half is not None:
            self.staff = self.placed.half
        elif staff_text:
            self.staff = whole(staff_text, 1, least=1, most=8)
        offset = self.element.find("offset")
        if offset is not None:
            moved = self._moved(offset)
            self.offset = moved
            if offset.get("sound") == "yes":
                self.sound_offset = moved
        self.notices.at(self.bar.index, self.offset, self.staff or 1)
        if self.placement not in ("above", "below"):
            self.placement = self._placement_by_height()
        sound = self.element.find("sound")
        types = [child for kind in self.element.findall("direction-type") for child in kind]
        has_metronome = any(child.tag == "metronome" for child in types)
        speed_before = len(self.facts.speeds)
        words: list[str] = []
        for kind in self.element.findall("direction-type"):
            children = list(kind)
            texts = [child for child in children if child.tag == "words"]
            if texts:
                words.append(self._words(texts, sound, has_metronome))
            for child in children:
                if child.tag != "words":
                    self._other(child, sound, types)
        if sound is not None:
            had_figure = any(
                speed.printed and speed.quarters_per_minute
                for speed in self.facts.speeds[speed_before:]
            )
            self._sound(sound, had_figure=had_figure, words=" ".join(words))

    def _moved(self, offset: etree._Element) -> Fraction:
        moved = self.placed.offset + (decimal(offset.text) or ZERO) / self.placed.divisions
        return max(ZERO, min(moved, self.bar.length))

    def _placement_by_height(self) -> str | None:
        """Above or below, by ``default-y``: tenths from the staff's top line, the staff is 40."""
        for kind in self.element.findall("direction-type"):
            for child in kind:
                height = decimal(child.get("default-y")) or ZERO
                if height > 0:
                    return "above"
                if height < -40:
                    return "below"
        return None

    def _add(
        self,
        kind: DirectionKind,
        source: etree._Element,
        *,
        text: str = "",
        number: int = 1,
        shape: str = "",
        niente: bool = False,
        beat_unit: NotatedLength | None = None,
        beat_unit_to: NotatedLength | None = None,
        parentheses: bool = False,
    ) -> None:
        self.count += 1
        identity = self.placed.id if self.count == 1 else f"{self.placed.id}-{self.count}"
        size = points(source.get("font-size"))
        enclosure = source.get("enclosure")
        self.facts.directions.append(
            Direction(
                id=identity,
                kind=kind,
                bar=self.bar.index,
                onset=self.bar.start + self.offset,
                staff=self.staff,
                placement=self.placement if self.placement in ("above", "below") else None,
                text=text,
                bold=source.get("font-weight") == "bold",
                italic=source.get("font-style") == "italic",
                size_points=size,
                # a rehearsal mark has a frame unless the source says that it has none
                enclosure=None
                if enclosure == "none" and kind is not DirectionKind.REHEARSAL
                else enclosure,
                number=number,
                shape=shape,
                niente=niente,
                beat_unit=beat_unit,
                beat_unit_to=beat_unit_to,
                parentheses=parentheses,
            )
        )

    def _words(
        self, elements: list[etree._Element], sound: etree._Element | None, has_metronome: bool
    ) -> str:
        said = joined_words([element.text or "" for element in elements])
        text = without_private_signs(said)
        if text != said:
            # Its meaning is the source's own font's; another font would print anything for it.
            self.notices.add("a sign of the source's own font was left out of its words")
        if not text:
            return ""
        # what the words look like is said of those that are printed
        first = next(
            (each for each in elements if without_private_signs(joined_words([each.text or ""]))),
            elements[0],
        )
        if letters_of_words(text):
            self._add(DirectionKind.WORDS, first, text=text)
            self.facts.pedal_words.append(self.facts.directions[-1].id)
            return ""
        jump = jump_of_words(text, self.bar.index)
        if jump is not None:
            self.facts.jumps.append(jump)
            self._add(DirectionKind.JUMP_WORDS, first, text=text)
            return text
        figure = tempo_figure(text)
        term = tempo_term(text)
        sounds_tempo = sound is not None and sound.get("tempo") is not None
        heads_bar = (
            first.get("font-weight") == "bold"
            and self.offset == 0
            and self.placement != "below"
            and self.staff in (None, 1)
        )
        is_tempo = bool(term or figure or sounds_tempo or has_metronome or heads_bar)
        if figure is not None or term is not None:
            onset = self.bar.start + self.offset
            self.facts.speeds.append(SpeedMark(onset, figure, figure is not None, term))
        self._add(DirectionKind.TEMPO_WORDS if is_tempo else DirectionKind.WORDS, first, text=text)
        only_bold = not (term or figure or sounds_tempo or has_metronome)
        if only_bold and may_be_pedal_words(text, first.get("enclosure")):
            self.facts.pedal_words.append(self.facts.directions[-1].id)
        return text

    def _diagram(self, pedals: tuple[tuple[str, int], ...]) -> None:
        self.count += 1
        identity = self.placed.id if self.count == 1 else f"{self.placed.id}-{self.count}"
        self.facts.source_marks.append(
            SourceMark(
                id=identity,
                bar=self.bar.index,
                onset=self.bar.start + self.offset,
                staff=self.staff,
                kind="diagram",
                pedals=pedals,
                placement=self.placement,
            )
        )

    def _other(
        self, child: etree._Element, sound: etree._Element | None, types: list[etree._Element]
    ) -> None:
        tag = str(child.tag)
        kind = child.get("type", "")
        number = number_of(child)
        if tag == "dynamics":
            text = joined_dynamics(dynamics_of(child))
            if text:
                self._add(DirectionKind.DYNAMIC, child, text=text)
        elif tag == "wedge":
            if kind in ("crescendo", "diminuendo"):
                niente = child.get("niente") == "yes"
                self._add(
                    DirectionKind.WEDGE_START, child, number=number, shape=kind, niente=niente
                )
            elif kind == "stop":
                niente = child.get("niente") == "yes"
                self._add(DirectionKind.WEDGE_STOP, child, number=number, niente=niente)
        elif tag in ("dashes", "bracket"):
            if kind in ("start", "stop"):
                name = f"{tag} {kind}"
                self._add(
                    DirectionKind(name), child, number=number, shape=child.get("line-type", "")
                )
        elif tag == "octave-shift":
            self._octave_shift(child, kind, number)
        elif tag == "rehearsal":
            same = [each for each in types if each.tag == "rehearsal"]
            if child is same[0]:
                text = joined_words([each.text or "" for each in same])
                self._add(DirectionKind.REHEARSAL, child, text=text)
        elif tag == "metronome":
            self._metronome(child)
        elif tag in ("segno", "coda"):
            self._sign(child, tag, sound, types)
        elif tag == "harp-pedals":
            self._diagram(pedals_of_diagram(child, self.notices))
        elif tag == "damp":
            self._add(DirectionKind.DAMP, child)
        elif tag == "damp-all":
            self._add(DirectionKind.DAMP_ALL, child)
        elif tag == "symbol":
            self._add(DirectionKind.SYMBOL, child, text=(child.text or "").strip())
        elif tag == "pedal":
            self.notices.add("piano pedal left out")
        elif tag == "other-direction":
            text = " ".join((child.text or "").split())
            if text and child.get("print-object") != "no":
                self.notices.add(f"the direction '{text}' was left out")
        else:
            self.notices.add(f"the direction '{tag}' was left out")

    def _octave_shift(self, child: etree._Element, kind: str, number: int) -> None:
        size = child.get("size", "8")
        if kind == "stop":
            self._add(DirectionKind.OCTAVE_STOP, child, number=number)
        elif kind in ("up", "down"):
            if size not in ("8", "15"):
                self.notices.add(f"an octave line of size {size} was left out")
                return
            # "down": the notes are written lower than they sound, which is an 8va.
            shape = {"8": "8v", "15": "15m"}[size] + ("a" if kind == "down" else "b")
            self._add(DirectionKind.OCTAVE_START, child, number=number, shape=shape)

    def _metronome(self, child: etree._Element) -> None:
        units: list[NotatedLength] = []
        for element in child:
            if element.tag == "beat-unit":
                units.append(NotatedLength(LOG.get((element.text or "").strip(), 2)))
            elif element.tag == "beat-unit-dot" and units:
                units[-1] = NotatedLength(units[-1].log, units[-1].dots + 1)
        if not units:
            self.notices.add("a metronome mark of another kind was left out")
            return
        figure = " ".join((child.findtext("per-minute") or "").split())
        onset = self.bar.start + self.offset
        speed = speed_of_figure(figure)
        if speed is not None:
            self.facts.speeds.append(SpeedMark(onset, speed * units[0].quarters, printed=True))
        if child.get("print-object") == "no":
            return
        self._add(
            DirectionKind.METRONOME,
            child,
            text=figure,
            beat_unit=units[0],
            beat_unit_to=units[1] if len(units) > 1 else None,
            parentheses=child.get("parentheses") == "yes",
        )

    def _sign(
        self,
        child: etree._Element,
        tag: str,
        sound: etree._Element | None,
        types: list[etree._Element],
    ) -> None:
        self._add(DirectionKind.SEGNO if tag == "segno" else DirectionKind.CODA, child)
        if tag == "segno":
            words = [jump_of_words(each.text or "", 0) for each in types if each.tag == "words"]
            # "D.S. 𝄋" repeats the sign after the words; only a sign alone is a target.
            if not any(jump and jump.kind is JumpKind.DAL_SEGNO for jump in words):
                self._target(JumpKind.SEGNO, "" if sound is None else sound.get("segno", ""))
            return
        if sound is not None and sound.get("tocoda") is not None:
            return
        if sound is not None and sound.get("coda") is not None:
            return
        words = [jump_of_words(each.text or "", 0) for each in types if each.tag == "words"]
        if any(jump is not None for jump in words):
            return
        at_end = self.offset > 0 and self.offset >= self.bar.length
        self.facts.coda_signs.append((self.bar.index, at_end))

    def _target(self, kind: JumpKind, label: str) -> None:
        """A target at the very end of a bar belongs to the next."""
        bar = self.bar.index
        if self.offset > 0 and self.offset >= self.bar.length and bar + 1 < self.bars:
            bar += 1
        self.facts.jumps.append(Jump(kind, bar, label))

    def _sound(self, sound: etree._Element, *, had_figure: bool, words: str) -> None:
        tempo = sound.get("tempo")
        if tempo is not None and not had_figure:
            speed = decimal(tempo) or ZERO
            if speed > 0:
                onset = self.bar.start + self.sound_offset
                self.facts.speeds.append(SpeedMark(onset, speed, printed=False))
        if sound.get("segno") is not None:
            self._target(JumpKind.SEGNO, sound.get("segno", ""))
        if sound.get("coda") is not None:
            self._target(JumpKind.CODA, sound.get("coda", ""))
        said = jump_of_words(words, self.bar.index)
        al_coda = said is not None and said.al_coda
        al_fine = said is not None and said.al_fine
        for name, kind in (
            ("tocoda", JumpKind.TO_CODA),
            ("fine", JumpKind.FINE),
            ("dacapo", JumpKind.DA_CAPO),
            ("dalsegno", JumpKind.DAL_SEGNO),
        ):
            value = sound.get(name)
            if value is None or (name == "dacapo" and value != "yes"):
                continue
            label = value if name in ("tocoda", "dalsegno") else ""
            goes_back = kind in (JumpKind.DA_CAPO, JumpKind.DAL_SEGNO)
            self.facts.jumps.append(
                Jump(kind, self.bar.index, label, al_coda and goes_back, al_fine and goes_back)
            )
