"""From the replay to the entries of a collation, each in one sentence for an editor."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from pedalsetter.analysis.collation.entries import (
    Collation,
    CollationEntry,
    EntryKind,
    MarkSeverity,
)
from pedalsetter.analysis.collation.glissando_diagrams import is_pedalled
from pedalsetter.analysis.collation.reasons import reason_of
from pedalsetter.analysis.collation.replay import replay_marks
from pedalsetter.analysis.collation.score_walk import Move, lay_walk
from pedalsetter.analysis.collation.sentences import called, reading_of
from pedalsetter.analysis.collation.slips import Replay, Slip
from pedalsetter.analysis.instrument.harp import LETTERS, Harp
from pedalsetter.analysis.naming.wording import listed
from pedalsetter.analysis.part import HarpPart, Place, SourceMark
from pedalsetter.analysis.pedal_plan import FindingKind, PedalPlan, Severity

__all__ = ["collate"]


def collate(
    part: HarpPart,
    plan: PedalPlan,
    harp: Harp = Harp(),  # noqa: B008 - frozen
) -> Collation:
    """Compare the source's own pedal marks with the notes.

    ``plan`` tells which string plays each note; what it cannot sound either is no fault of the
    marks. A mark may stand early or late within the time in which its pedal is free. A part
    without pedal marks has no entries, and one with diagrams for its glissandi alone has one
    remark: it is not pedalled, which is no fault, unless they suffice for all of it. Linear in
    the number of moments played.
    """
    diagrams = sum(mark.kind == "diagram" for mark in part.source_marks)
    letters = sum(len(mark.pedals) for mark in part.source_marks if mark.kind != "diagram")
    if not part.source_marks:
        return Collation((), 0, 0, "")
    replay = replay_marks(lay_walk(part, plan, harp))
    writer = _Writer(part, plan)
    entries = [
        *writer.diagrams(),
        *writer.openings(replay),
        *(writer.entry(slip) for slip in replay.slips if not writer.is_allowed(slip)),
        *(writer.redundant(move) for move in replay.idle),
        *(writer.vain(*pair) for pair in replay.vain),
    ]
    missing = [entry for entry in entries if entry.kind is EntryKind.MISSING]
    if entries and not is_pedalled(part):
        entries = [writer.glissandi_only()]
    elif len(missing) >= 2 and 4 * len(missing) >= len(missing) + len(replay.changes):
        entries.append(writer.some_not_all(missing, len(replay.changes)))
    order = {kind: rank for rank, kind in enumerate(EntryKind)}
    gravity = {severity: rank for rank, severity in enumerate(MarkSeverity)}
    entries.sort(
        key=lambda entry: (entry.place, gravity[entry.severity], order[entry.kind], entry.marks)
    )
    return Collation(
        tuple(_told_once(entries)),
        diagrams,
        letters,
        part.source_language,
        len(missing),
        len(replay.changes),
    )


def _told_once(entries: Iterable[CollationEntry]) -> Iterator[CollationEntry]:
    """Without what only follows from something graver that is said of the same pedal and mark."""
    told = set()
    for entry in entries:
        subject = (entry.place, entry.marks, entry.letters)
        follows = entry.kind in (EntryKind.RINGING, EntryKind.REDUNDANT)
        if not follows or subject not in told:
            yield entry
        told.add(subject)


class _Writer:
    """Puts slips into words."""

    def __init__(self, part: HarpPart, plan: PedalPlan) -> None:
        self.part, self.plan = part, plan
        self.unavoidable = {
            note
            for finding in plan.findings
            if finding.kind is FindingKind.RINGING and finding.severity is not Severity.REMARK
            for note in finding.notes
        }
        self.planned = {(change.place, change.letter, change.new) for change in plan.changes}
        self.freely = {
            (change.place, change.letter)
            for change in plan.changes
            if change.crossed or change.together is not None
        }
        self.struck = {event.bar for event in part.events if event.heads and not event.cue}

    # Marks that are faulty by themselves.

    def diagrams(self) -> Iterator[CollationEntry]:
        """Diagrams that name too few pedals, one twice, or a position that no pedal has."""
        for mark in self.part.source_marks:
            if mark.kind != "diagram" or mark.setting() is not None:
                continue
            place = self.part.place_of(mark)
            named = [letter for letter, _ in mark.pedals]
            twice = [letter for letter in dict.fromkeys(named) if named.count(letter) > 1]
            beyond = [
                f"{letter}{alter:+d}" for letter, alter in mark.pedals if alter not in (-1, 0, 1)
            ]
            missing = [letter.value for letter in LETTERS if letter.value not in named]
            reasons = []
            if twice:
                reasons.append(f"{listed(twice)} {_is(twice)} named twice")
            if beyond:
                reasons.append(f"no pedal reaches {listed(beyond)}")
            if missing:
                reasons.append(f"{listed(missing)} {_is(missing)} not named")
            impossible = bool(twice or beyond)
            yield CollationEntry(
                EntryKind.IMPOSSIBLE_DIAGRAM if impossible else EntryKind.INCOMPLETE_DIAGRAM,
                MarkSeverity.WRONG if impossible else MarkSeverity.QUESTIONABLE,
                place,
                mark.staff,
                tuple(letter for letter in LETTERS if letter.value in {*twice, *missing}),
                reading_of([mark]),
                str(self.plan.setting_at(place)),
                f"A diagram names all seven pedals, each once: {'; '.join(reasons)}.",
                (mark.id,),
            )

    def openings(self, replay: Replay) -> Iterator[CollationEntry]:
        """Movements whose first note is struck before the whole setting is known."""
        for item, missing in replay.openings:
            first = next(each for each in self.plan.movements if each.movement == item.movement)
            given = [
                mark
                for mark in self.part.source_marks
                if self.part.bars[mark.bar].movement == item.movement
                and self.part.place_of(mark) <= Place(item.place.bar, item.place.offset)
            ]
            if any(mark.kind == "diagram" for mark in given):
                # An incomplete diagram has its own entry.
                continue
            names = listed(letter.value for letter in missing)
            why = f"The first note is played before all pedals are named; unknown: {names}."
            if len(missing) == len(LETTERS):
                why = "The first note is played before any setting is printed."
            later = next(
                (
                    mark
                    for mark in self.part.source_marks
                    if mark.setting() is not None
                    and self.part.place_of(mark) > item.place
                    and self.part.bars[mark.bar].movement == item.movement
                ),
                None,
            )
            if later is not None and later.bar - item.place.bar <= 1:
                late = self.part.told_place(self.part.place_of(later))
                why += f" The setting in {late} comes too late."
            yield CollationEntry(
                EntryKind.NO_OPENING,
                MarkSeverity.QUESTIONABLE if item.movement else MarkSeverity.WRONG,
                Place(first.first_bar, Fraction(0)),
                None,
                missing,
                reading_of(given),
                str(first.opening),
                why,
                tuple(mark.id for mark in given),
            )

    # What the replay found.

    def is_allowed(self, slip: Slip) -> bool:
        """Whether the plan makes the same moves at once, as the feet have been allowed to."""
        return (
            slip.kind is EntryKind.SAME_FOOT
            and any((slip.place, move.letter) in self.freely for move in slip.moves)
            and all((slip.place, move.letter, move.position) in self.planned for move in slip.moves)
        )

    def entry(self, slip: Slip) -> CollationEntry:
        """One slip in words."""
        marks = _marks(slip.moves)
        should, why = reason_of(slip, self.part, self.plan)
        severity = slip.severity
        notes = tuple(dict.fromkeys(note for ask in slip.asks for note in ask.notes))
        as_planned = any(
            (slip.place, move.letter, move.position) in self.planned for move in slip.moves
        )
        if slip.kind is EntryKind.RINGING and (as_planned or self.unavoidable.intersection(notes)):
            severity = MarkSeverity.REMARK
            why += " The plan finds no better moment either."
        staff = next(
            (mark.staff for mark in marks if mark.staff is not None),
            slip.asks[0].staff if slip.asks else None,
        )
        return CollationEntry(
            slip.kind,
            severity,
            slip.place,
            staff,
            slip.letters,
            self._source(slip, marks),
            should,
            why,
            tuple(mark.id for mark in marks),
            notes,
        )

    def _source(self, slip: Slip, marks: Sequence[SourceMark]) -> str:
        if marks and all(move.is_diagram for move in slip.moves):
            pedals = " ".join(called(move.letter, move.position) for move in slip.moves)
            return f"{pedals} in the diagram"
        return reading_of(marks)

    def redundant(self, move: Move) -> CollationEntry:
        """A letter that changes nothing on any pass."""
        mark = move.mark
        reminder = (
            mark.text.strip().startswith(("(", "["))
            or any(section.bar == mark.bar for section in self.part.sections)
            or (mark.bar > 0 and mark.bar - 1 not in self.struck)
            or any(
                other.bar == mark.bar and other.onset == mark.onset and other.kind == "diagram"
                for other in self.part.source_marks
            )
        )
        stands = called(move.letter, move.position)
        why = f"The pedal stands at {stands} already."
        if reminder:
            why += " As a reminder it does no harm."
        return CollationEntry(
            EntryKind.REDUNDANT,
            MarkSeverity.REMARK,
            self.part.place_of(mark),
            mark.staff,
            (move.letter,),
            reading_of([mark]),
            "",
            why,
            (mark.id,),
        )

    def vain(self, move: Move, after: Move) -> CollationEntry:
        """A change by which no note sounds until the pedal moves again."""
        moved = called(move.letter, move.position)
        if move.is_diagram:
            stood = called(after.letter, after.position)
            back = self.part.told_place(after.place)
            return CollationEntry(
                EntryKind.CONTRADICTORY_DIAGRAM,
                MarkSeverity.QUESTIONABLE,
                move.place,
                move.mark.staff,
                (move.letter,),
                f"{moved} in the diagram",
                stood,
                f"The pedal stood at {stood} and goes back in {back}; no note in between needs "
                f"{moved}.",
                (move.mark.id,),
            )
        near = after.is_diagram and 0 <= after.place.bar - move.place.bar <= 2
        then = f"{self.part.told_place(after.place)} says {called(after.letter, after.position)}"
        return CollationEntry(
            EntryKind.WRONG if near else EntryKind.REDUNDANT,
            MarkSeverity.QUESTIONABLE if near else MarkSeverity.REMARK,
            move.place,
            move.mark.staff,
            (move.letter,),
            reading_of([move.mark]),
            called(after.letter, after.position) if near else "",
            f"No note needs {moved} before {then}.",
            (move.mark.id,),
        )

    def some_not_all(self, missing: Sequence[CollationEntry], made: int) -> CollationEntry:
        """The trade's rule broken: all or none."""
        first = missing[0]
        total = len(missing) + made
        return CollationEntry(
            EntryKind.SOME_NOT_ALL,
            MarkSeverity.WRONG,
            first.place,
            None,
            tuple(letter for letter in LETTERS if any(letter in each.letters for each in missing)),
            f"{made} of {total} changes",
            "all of them, or none",
            f"{len(missing)} of {total} changes have no mark, from here on first; who trusts the "
            "others plays wrong notes.",
        )

    def glissandi_only(self) -> CollationEntry:
        """No pedal is marked but for glissandi: none, of all or none."""
        marks = self.part.source_marks
        return CollationEntry(
            EntryKind.SOME_NOT_ALL,
            MarkSeverity.REMARK,
            self.part.place_of(marks[0]),
            marks[0].staff,
            (),
            reading_of(marks[:1]),
            "",
            "The source has diagrams for its glissandi alone; the pedals of the part are not "
            "marked.",
            tuple(mark.id for mark in marks),
        )


def _marks(moves: Sequence[Move]) -> list[SourceMark]:
    return list({move.mark.id: move.mark for move in moves}.values())


def _is(names: Sequence[str]) -> str:
    return "is" if len(names) == 1 else "are"
