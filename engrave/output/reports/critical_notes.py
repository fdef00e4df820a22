"""The notes of a critical report: where source and edition differ, and why."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.collation import CollationEntry, EntryKind, is_pedalled
from pedalsetter.analysis.collation.sentences import reading_of
from pedalsetter.analysis.editing import Edition
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram, Origin
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.pedal_plan import Change
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.mark_text import pedal_word

__all__ = ["CriticalNote", "critical_notes"]


@dataclass(frozen=True, slots=True)
class CriticalNote:
    """One line of the report."""

    number: int
    place: Place
    bar: str
    beat: str
    source: str
    """What the source prints; empty where it prints nothing."""
    edition: str
    """What the edition prints; additions to the source's marks in brackets."""
    reason: str
    mark_place: Place
    """Where the edition prints its mark; the note's own place where it prints none."""


@dataclass(frozen=True, slots=True)
class _Row:
    place: Place
    source: str
    edition: str
    reason: str
    mark_place: Place


def critical_notes(
    part: HarpPart, edition: Edition, style: HouseStyle | None = None
) -> tuple[CriticalNote, ...]:
    """Every slip of the source and every departure of the edition from it, by place.

    Where the source's marks stand, a departure is an addition, and one that mends a slip is told
    with it. Where they are replaced, each place counts at which the two print something else. An
    edition of a source that is not pedalled departs from nothing. What the edition prints is named
    as ``style`` names it, in English without one; reasons are in English.
    """
    name = _Names(style)
    if not is_pedalled(part):
        rows = [
            _Row(entry.place, entry.source, entry.source, _reason(entry), entry.place)
            for entry in edition.collation.entries
        ]
    elif edition.mode is SourceMarks.REPLACE:
        rows = list(_replaced(part, edition, name))
    else:
        rows = list(_Additions(part, edition, name).rows())
    rows.sort(key=lambda row: row.place)
    return tuple(
        CriticalNote(
            number,
            row.place,
            part.printed_bar(row.place.bar),
            part.printed_beat(row.place),
            row.source,
            row.edition,
            row.reason,
            row.mark_place,
        )
        for number, row in enumerate(rows, start=1)
    )


def _reason(entry: CollationEntry, *, mended: bool = False) -> str:
    should = f" Should be: {entry.should}." if entry.should and not mended else ""
    return f"{entry.kind.value.capitalize()}. {entry.why}{should}"


class _Names:
    """What pedals and settings are called on the page."""

    def __init__(self, style: HouseStyle | None) -> None:
        self.style = style

    def pedal(self, letter: Letter, position: Position) -> str:
        if self.style is None:
            return f"{letter.value}{position.sign}"
        return pedal_word(letter, position, self.style, natural=True)

    def change(self, change: Change) -> str:
        return self.pedal(change.letter, change.new)

    def setting(self, setting: Setting) -> str:
        words = [self.pedal(letter, position) for letter, position in setting]
        return f"{' '.join(words[:3])} | {' '.join(words[3:])}"

    def mark(self, mark: Diagram | ChangeMark) -> str:
        if isinstance(mark, Diagram):
            return f"diagram {self.setting(mark.setting)}"
        return " ".join(map(self.change, mark.changes))


class _Additions:
    """Notes on an edition in which the source's marks stand."""

    def __init__(self, part: HarpPart, edition: Edition, name: _Names) -> None:
        self.part, self.edition, self.name = part, edition, name
        self.letters: dict[tuple[Place, Letter], Change] = {
            (mark.place, change.letter): change
            for mark in edition.markings.changes
            for change in mark.changes
            if change.letter in mark.added
        }
        self.diagrams = {
            diagram.place: diagram for diagram in edition.markings.diagrams if diagram.editorial
        }
        self.told: set[Place | tuple[Place, Letter]] = set()

    def rows(self) -> Iterator[_Row]:
        for entry in self.edition.collation.entries:
            yield self._slip(entry)
        for (place, letter), change in self.letters.items():
            if (place, letter) not in self.told:
                yield _Row(
                    place, "", f"[{self.name.change(change)}]", f"Added. {change.why}", place
                )
        for place, diagram in self.diagrams.items():
            if place not in self.told:
                reason = "Added. It gives the whole setting from here on."
                yield _Row(place, "", f"[{self.name.setting(diagram.setting)}]", reason, place)

    def _slip(self, entry: CollationEntry) -> _Row:
        mends = list(self._mends(entry))
        if entry.kind is EntryKind.SOME_NOT_ALL:
            left = self.edition.remaining.missing
            done = self.edition.mode is SourceMarks.COMPLETE and not left
            edition = "all of them" if done else entry.source
            return _Row(
                entry.place, entry.source, edition, _reason(entry, mended=done), entry.place
            )
        texts = [entry.source] if entry.source else []
        texts += [self._at(text, place, entry.place) for place, text in mends]
        return _Row(
            entry.place,
            entry.source,
            ", ".join(texts) or "–",
            _reason(entry, mended=bool(mends)),
            mends[0][0] if mends else entry.place,
        )

    def _at(self, text: str, place: Place, told: Place) -> str:
        return text if place == told else f"{text} in {self.part.told_place(place)}"

    def _mends(self, entry: CollationEntry) -> Iterator[tuple[Place, str]]:
        """The additions that mend a slip, each told once: at its place, or the last before it."""
        if entry.kind in (
            EntryKind.NO_OPENING,
            EntryKind.INCOMPLETE_DIAGRAM,
            EntryKind.IMPOSSIBLE_DIAGRAM,
        ):
            diagram = self.diagrams.get(entry.place)
            if diagram is not None and entry.place not in self.told:
                self.told.add(entry.place)
                yield entry.place, f"[{self.name.setting(diagram.setting)}]"
            return
        for letter in entry.letters:
            places = [
                place
                for place, added in self.letters
                if added is letter
                and (place == entry.place or (place < entry.place and _wants_more(entry)))
            ]
            if places and (max(places), letter) not in self.told:
                place = max(places)
                self.told.add((place, letter))
                yield place, f"[{self.name.change(self.letters[place, letter])}]"


def _wants_more(entry: CollationEntry) -> bool:
    return entry.kind in (EntryKind.MISSING, EntryKind.LATE, EntryKind.WRONG)


def _replaced(part: HarpPart, edition: Edition, name: _Names) -> Iterator[_Row]:
    """Notes on an edition whose own marks stand instead of the source's."""
    source = _by_moment(part.source_marks)
    printed: dict[tuple[int, Fraction], list[Diagram | ChangeMark]] = {}
    marks: list[Diagram | ChangeMark] = [*edition.markings.diagrams, *edition.markings.changes]
    for mark in marks:
        moment = (mark.place.bar, part.onset_of(mark.place))
        if mark.origin is not Origin.SOURCE:
            printed.setdefault(moment, []).append(mark)
        else:
            # A diagram for a glissando stays; there is nothing to tell.
            source.pop(moment, None)
    entries: dict[str, list[CollationEntry]] = {}
    told: set[tuple[Place, Letter]] = set()
    for entry in edition.collation.entries:
        if entry.marks:
            entries.setdefault(entry.marks[0], []).append(entry)
            continue
        mends = _planned_for(edition, entry)
        told.update((change.place, change.letter) for change in mends)
        texts = [
            name.change(change)
            if change.place == entry.place
            else f"{name.change(change)} in {part.told_place(change.place)}"
            for change in mends
        ]
        mark_place = mends[0].place if mends else entry.place
        yield _Row(
            entry.place,
            entry.source,
            ", ".join(texts) or "–",
            _reason(entry, mended=bool(mends)),
            mark_place,
        )
    for bar, onset in sorted({*source, *printed}, key=lambda one: (one[1], one[0])):
        old, new = source.get((bar, onset), []), printed.get((bar, onset), [])
        place = Place(bar, onset - part.bars[bar].start)
        here = [entry for mark in old for entry in entries.get(mark.id, ())]
        said = _said(old)
        # What a slip has told already is no departure once more.
        open_says = {pedal for pedal, known in _says(new, told).items() if not known}
        if open_says <= said <= set(_says(new, told)) and not any(e.is_fault for e in here):
            continue
        reasons = [_reason(entry, mended=True) for entry in here]
        reasons = reasons or list(_whys(part, edition, old, new, told))
        texts = list(map(name.mark, new)) or [
            f"{name.change(change)} in {part.told_place(change.place)}"
            for _, change in _gone(edition, old, {}, place)
            if change is not None
        ]
        yield _Row(
            place,
            reading_of(old),
            ", ".join(texts) or "–",
            " ".join(dict.fromkeys(reasons)),
            new[0].place if new else place,
        )


def _planned_for(edition: Edition, entry: CollationEntry) -> list[Change]:
    """The planned changes by which the notes of a slip come out."""
    setting = edition.plan.setting_at(entry.place)
    found = []
    for letter in entry.letters:
        own = [
            change
            for change in edition.plan.changes
            if change.letter is letter and change.place <= entry.place
        ]
        if own and own[-1].new is setting[letter] and entry.kind is EntryKind.MISSING:
            found.append(own[-1])
    return found


def _by_moment(marks: Iterable[SourceMark]) -> dict[tuple[int, Fraction], list[SourceMark]]:
    found: dict[tuple[int, Fraction], list[SourceMark]] = {}
    for mark in marks:
        found.setdefault((mark.bar, mark.onset), []).append(mark)
    return found


def _said(marks: Sequence[SourceMark]) -> set[tuple[str, int]]:
    return {pedal for mark in marks for pedal in mark.pedals}


def _says(
    marks: Sequence[Diagram | ChangeMark], told: Container[tuple[Place, Letter]] = ()
) -> dict[tuple[str, int], bool]:
    """(letter, alteration) of all pedals of some marks; whether each has been told already."""
    found = {}
    for mark in marks:
        if isinstance(mark, Diagram):
            found.update(
                {(letter.value, int(position)): False for letter, position in mark.setting}
            )
        else:
            for change in mark.changes:
                known = (mark.place, change.letter) in told
                found[change.letter.value, int(change.new)] = known
    return found


def _whys(
    part: HarpPart,
    edition: Edition,
    old: Sequence[SourceMark],
    new: Sequence[Diagram | ChangeMark],
    told: Container[tuple[Place, Letter]],
) -> Iterator[str]:
    """Why the edition prints something else where nothing is wrong with the source."""
    says = _says(new)
    known = _said(old)
    for mark in new:
        if isinstance(mark, Diagram):
            if not known:
                yield "A player may begin here, and needs the whole setting."
            continue
        for change in mark.changes:
            at = (mark.place, change.letter)
            if (change.letter.value, int(change.new)) not in known and at not in told:
                yield change.why
    place = None if not old else part.place_of(old[0])
    for what, other in () if place is None else _gone(edition, old, says, place):
        if other is None:
            yield f"{what}: the plan does without it."
        else:
            yield f"{what} stands in {part.told_place(other.place)}. {other.why}"
    if not new and any(mark.kind == "diagram" for mark in old):
        yield "The setting is printed elsewhere already."


def _gone(
    edition: Edition,
    old: Sequence[SourceMark],
    says: Container[tuple[str, int]],
    place: Place,
) -> Iterator[tuple[str, Change | None]]:
    """Each letter of the source that is not printed at its place, and the change instead of it."""
    letters = dict.fromkeys(
        pedal for mark in old if mark.kind != "diagram" for pedal in mark.pedals
    )
    for name, alter in letters:
        if (name, alter) not in says and alter in (-1, 0, 1):
            letter, position = Letter(name), Position(alter)
            change = _moved_elsewhere(edition.plan.changes, letter, position, place)
            yield f"{name}{position.sign}", change


def _moved_elsewhere(
    changes: Sequence[Change], letter: Letter, position: Position, place: Place
) -> Change | None:
    """The planned change that stands for one of the source: the nearest with no other between."""
    own = [change for change in changes if change.letter is letter]
    before = [change for change in own if change.place <= place][-1:]
    after = [change for change in own if change.place > place][:1]
    found = [change for change in (*before, *after) if change.new is position]
    return min(found, key=lambda change: abs(change.place.bar - place.bar), default=None)
