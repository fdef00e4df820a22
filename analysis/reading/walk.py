"""The walk through a part: every measure's elements, each at its exact moment.

MusicXML writes one voice after another and moves a cursor: a ``<note>`` moves it on, ``<chord/>``
does not, ``<backup>`` and ``<forward>`` jump. Lengths are whole numbers of ``<divisions>`` of a
quarter; here they become exact fractions at once, so a change of divisions needs no care.
"""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.reading.attributes import (
    read_clef,
    read_key,
    read_time,
    read_transposition,
)
from pedalsetter.analysis.reading.draft import ZERO, EventDraft, MeasureDraft, Placed
from pedalsetter.analysis.reading.figures import decimal, whole
from pedalsetter.analysis.reading.identities import Identities
from pedalsetter.analysis.reading.limits import Limits, local_name
from pedalsetter.analysis.reading.note_values import LOG, quarters_of
from pedalsetter.analysis.reading.notes import read_note
from pedalsetter.analysis.reading.notices import Notices
from pedalsetter.analysis.reading.pitches import PitchReader

__all__ = ["Cursor", "walk_part"]

_IGNORED = frozenset(
    ("bookmark", "link", "grouping", "listening", "print", "footnote", "level", "measure-layout")
)

_NUMBER_SIGNS = 16
"""What is printed of the number of a bar; real ones have four signs at most."""

_LEFT_OUT = {
    "harmony": "chord symbols were left out",
    "figured-bass": "figured bass was left out",
}


def walk_part(
    part: etree._Element,
    part_id: str,
    half: int | None,
    identities: Identities,
    notices: Notices,
    limits: Limits,
    file: str,
) -> list[MeasureDraft]:
    """All measures of a ``<part>``, their notes read and the rest placed for later.

    ``half`` is 1 or 2 for the upper or lower half of a harp that the source writes as two parts,
    None for a whole part.

    Raises:
        ScoreError: lengths that are no numbers, or more bars or notes than the limits allow.
    """
    return _Walk(part_id, half, identities, notices, limits, file).walk(part)


class Cursor:
    """Where the walk stands in its bar: as the source counts, and exactly.

    The two differ only after a length that the source has rounded; a jump goes by the source's
    count to the exact moment that a note there had.
    """

    def __init__(self) -> None:
        self.counted = ZERO
        self.exact = ZERO
        self._known: dict[Fraction, Fraction] = {}

    def move(self, counted: Fraction, exact: Fraction) -> None:
        """Go on by the length of a note."""
        if counted is exact and self.counted is self.exact:
            self.counted = self.exact = self.counted + counted
            return
        self.counted += counted
        self.exact += exact
        self._known[self.counted] = self.exact

    def jump(self, counted: Fraction) -> bool:
        """Go back or forward; False if that leads out of the bar."""
        target = self.counted + counted
        self.counted = target if target > 0 else ZERO
        self.exact = self._known.get(self.counted, self.counted)
        return target >= 0


class _Walk:
    def __init__(
        self,
        part_id: str,
        half: int | None,
        identities: Identities,
        notices: Notices,
        limits: Limits,
        file: str,
    ) -> None:
        self.part_id = part_id
        self.half = half
        self.staff_shift = 1 if half == 2 else 0
        self.identities = identities
        self.notices = notices
        self.limits = limits
        self.file = file
        notices.staff_shift = self.staff_shift
        self.pitches = PitchReader(notices)
        self.divisions = Fraction(1)
        self.lengths: dict[str | None, Fraction] = {}
        self.order = 0
        self.told = ZERO
        self.staves = 1
        self.ossias: set[int] = set()

    def walk(self, part: etree._Element) -> list[MeasureDraft]:
        measures = part.findall("measure")
        if len(measures) > self.limits.bars:
            raise ScoreError(f"the part has more than {self.limits.bars:,} bars", file=self.file)
        drafts = []
        for index, element in enumerate(measures):
            drafts.append(self.measure(index, element))
            if self.order > self.limits.notes:
                raise ScoreError(
                    f"the part has more than {self.limits.notes:,} notes", file=self.file
                )
        return drafts

    def measure(self, index: int, element: etree._Element) -> MeasureDraft:
        number = (element.get("text") or element.get("number") or "").strip()[:_NUMBER_SIGNS]
        number = number or str(index + 1)
        draft = MeasureDraft(index, element, number, element.get("implicit") == "yes")
        self.number = number
        cursor = Cursor()
        last: EventDraft | None = None
        notes = directions = 0
        for child in element:
            tag = child.tag
            if tag == "note":
                notes += 1
                self.order += 1
                is_chord = child.find("chord") is not None and last is not None
                is_grace = child.find("grace") is not None
                length = ZERO if is_grace else self.quarters(child.findtext("duration"))
                offset = last.offset if is_chord and last is not None else cursor.exact
                self.notices.at(index, offset, of=child)
                last = self.note(child, draft, notes, last if is_chord else None, offset, length)
                if not is_chord:
                    last.length = self.printed_length(last, length)
                    cursor.move(length, last.length)
                    if cursor.exact > draft.reach:
                        draft.reach = cursor.exact
                    if cursor.exact > draft.sounding_reach and not last.bar_rest:
                        draft.sounding_reach = cursor.exact
            elif tag == "backup":
                if not cursor.jump(-self.quarters(child.findtext("duration"))):
                    self.notices.at(index, of=child)
                    self.notices.add("a voice begins before its bar; it is read from the barline")
                last = None
            elif tag == "forward":
                cursor.jump(self.quarters(child.findtext("duration")))
                draft.reach = max(draft.reach, cursor.exact)
                last = None
            elif tag in ("direction", "sound"):
                directions += 1
                draft.directions.append(
                    Placed(
                        child,
                        cursor.exact,
                        self.divisions,
                        self.identities.of(child, self.part_id, index + 1, "d", directions),
                        self.half,
                    )
                )
            elif tag == "attributes":
                self.attributes(child, draft, cursor.exact)
            elif tag == "barline":
                draft.barlines.append(Placed(child, cursor.exact, self.divisions, half=self.half))
            elif tag == "print":
                draft.new_page |= child.get("new-page") == "yes"
                draft.new_system |= child.get("new-system") == "yes"
            else:
                self.notices.at(index, cursor.exact, of=child)
                if tag in _LEFT_OUT:
                    self.notices.add(_LEFT_OUT[str(tag)])
                elif tag not in _IGNORED:
                    self.notices.add(f"'{local_name(child)}' was left out")
        if draft.reach > self.limits.bar_quarters:
            raise ScoreError(
                f"the bar is longer than {self.limits.bar_quarters:,} quarters",
                file=self.file,
                bar=number,
            )
        most = self.limits.voices
        if notes > most and len({event.voice for event in draft.events}) > most:
            raise ScoreError(f"the bar has more than {most:,} voices", file=self.file, bar=number)
        draft.staves = self.staves
        return draft

    def note(
        self,
        element: etree._Element,
        draft: MeasureDraft,
        place: int,
        chord: EventDraft | None,
        offset: Fraction,
        length: Fraction,
    ) -> EventDraft:
        identity = self.identities.of(element, self.part_id, draft.index + 1, "n", place)
        event = read_note(
            element,
            identity,
            chord,
            offset,
            length,
            self.staff_shift,
            self.order,
            self.pitches,
            self.notices,
        )
        if chord is None:
            event.bar = draft.index
            draft.events.append(event)
            self.told = length
            event.ossia = event.staff in self.ossias
            event.cue = event.cue or event.ossia
            self.staves = max(self.staves, event.staff - self.staff_shift)
        elif length != self.told and event.grace is None and not _is_printed_as(event, element):
            self.notices.add("the notes of a chord differ in length; the first note's is taken")
        return event

    def printed_length(self, event: EventDraft, told: Fraction) -> Fraction:
        """The length by the printed value, where the told one is that value rounded to a division.

        Some programs count in divisions too coarse for their tuplets: a triplet quaver is then 2
        or 3 eighths of a quarter long, and the voices of a bar drift apart.
        """
        if event.notated is None or event.grace is not None or event.bar_rest:
            return told
        printed = quarters_of(event.notated)
        if event.modification is not None:
            printed /= event.modification.ratio
        if printed == told:
            return told
        return printed if abs(printed - told) * self.divisions < 1 else told

    def attributes(self, element: etree._Element, draft: MeasureDraft, position: Fraction) -> None:
        transposes = []
        for child in element:
            tag = child.tag
            number = child.get("number")
            self.notices.at(draft.index, position, of=child)
            staff = None if number is None else whole(number, 1, least=1, most=8)
            if tag == "divisions":
                self.set_divisions(child.text)
            elif tag == "key":
                found = read_key(child, self.notices)
                if found is not None:
                    fifths = self._transposed_key(found[0])
                    staff = None if staff is None else staff + self.staff_shift
                    draft.keys.append((position, staff, fifths, found[1]))
            elif tag == "time":
                self._time(child, draft, position)
            elif tag == "staves":
                self.staves = max(self.staves, whole(child.text, 1, most=8))
            elif tag == "clef":
                sign, line, octaves = read_clef(child, self.notices)
                shifted = (staff or 1) + self.staff_shift
                draft.clefs.append((position, shifted, sign, line, octaves))
            elif tag == "transpose":
                transposes.append(child)
            elif tag == "staff-details":
                if (child.findtext("staff-type") or "").strip() == "ossia":
                    # Its notes are played instead of others: none of them is wanted for sure.
                    self.ossias.add((staff or 1) + self.staff_shift)
                    self.notices.add("the ossia is shown small, as a cue; it is not planned for")
                lines = child.findtext("staff-lines")
                if lines is not None and lines.strip() != "5":
                    self.notices.add("a staff of other than five lines is shown with five")
            elif tag == "measure-style":
                for style in ("measure-repeat", "beat-repeat", "slash"):
                    if child.find(style) is not None:
                        self.notices.add(f"'{style}' was left out; the notes are shown as they are")
            elif tag not in ("part-symbol", "instruments", "directive", "footnote", "level"):
                self.notices.add(f"'{tag}' was left out")
        if transposes:
            self.pitches.forget()
            self.notices.at(draft.index, position, of=transposes[0])
            old = self.pitches.transposition
            self.pitches.transposition = read_transposition(transposes, self.notices)
            if draft.keys and old != self.pitches.transposition:
                # <transpose> stands after <key> in one <attributes>.
                self.pitches.transposition, new = old, self.pitches.transposition
                shift = new.fifths - old.fifths
                self.pitches.transposition = new
                draft.keys[:] = [
                    (at, staff, _folded(fifths + shift), mode)
                    if at == position
                    else (at, staff, fifths, mode)
                    for at, staff, fifths, mode in draft.keys
                ]

    def _transposed_key(self, fifths: int) -> int:
        return _folded(fifths + self.pitches.transposition.fifths)

    def _time(self, element: etree._Element, draft: MeasureDraft, position: Fraction) -> None:
        found = read_time(element, self.notices)
        if found is None:
            return
        if draft.time is not None and draft.time != found:
            self.notices.add("staves with different time signatures; the first one is taken")
        elif position:
            self.notices.add("a time signature inside a bar is read at the bar's beginning")
            draft.time = found
        elif draft.time is None:
            draft.time = found

    def set_divisions(self, text: str | None) -> None:
        divisions = decimal(text) or ZERO
        if divisions <= 0:
            raise ScoreError(
                f"'{(text or '').strip()}' is no number of divisions",
                file=self.file,
                bar=self.number,
            )
        self.divisions = divisions
        self.lengths = {}

    def quarters(self, text: str | None) -> Fraction:
        known = self.lengths.get(text)
        if known is None:
            number = decimal((text or "").strip() or "0")
            if number is None or number < 0:
                raise ScoreError(
                    f"'{(text or '').strip()}' is no length",
                    file=self.file,
                    bar=self.number,
                    mend="Export the score again from the program that made it.",
                )
            known = number / self.divisions
            self.lengths[text] = known
        return known


def _is_printed_as(event: EventDraft, note: etree._Element) -> bool:
    """Whether a note of a chord is printed like the first, whatever lengths they are given."""
    value = LOG.get((note.findtext("type") or "").strip())
    return event.notated is not None and event.notated.log == value


def _folded(fifths: int) -> int:
    """The same key with at most seven signs."""
    while fifths > 7:
        fifths -= 12
    while fifths < -7:
        fifths += 12
    return fifths
