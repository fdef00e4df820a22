"""Mends worth trying for a finding: what a composer would think of, least intrusive first.

Nothing here is offered to anybody yet: each proposal is tried on a plan of the altered part, and
most of them fail.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.findings.edits import followers, pitch_on
from pedalsetter.analysis.findings.scene import Played, Scene, Scenes
from pedalsetter.analysis.instrument.harp import Harp
from pedalsetter.analysis.instrument.respelling import Pitch, strings_for
from pedalsetter.analysis.naming.wording import listed, ornament_called
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import FindingKind, MendKind, NoteEdit, Severity

__all__ = ["Proposal", "misprints", "propose"]


@dataclass(frozen=True, slots=True)
class Proposal:
    """One mend that has not been tried yet."""

    kind: MendKind
    what: str
    edits: tuple[NoteEdit, ...]
    given: tuple[str, ...] = ()
    """Notes that a second harp would play."""
    otherwise: Proposal | None = None
    """What it is where the change that it should free moves no earlier after all."""


def propose(part: HarpPart, scenes: Scenes, scene: Scene, harp: Harp) -> list[Proposal]:
    """Return the mends to try, each set of edits once, least intrusive first."""
    found: dict[tuple[tuple[NoteEdit, ...], bool], Proposal] = {}
    for proposal in _Proposer(part, scenes, scene, harp).all():
        found.setdefault((proposal.edits, bool(proposal.given)), proposal)
    return sorted(found.values(), key=lambda one: list(MendKind).index(one.kind))


def misprints(part: HarpPart, scenes: Scenes, scene: Scene, harp: Harp) -> list[Proposal]:
    """Return one accidental each that may be wrong in a clash: of a letter in two octaves.

    D♭ against D♮ in another octave is rarely meant, unlike two neighbouring keys in one octave
    (common practice, no source).
    """
    return list(_Proposer(part, scenes, scene, harp).misprint())


Maker = Callable[["_Proposer"], Iterator[Proposal]]


class _Proposer:
    def __init__(self, part: HarpPart, scenes: Scenes, scene: Scene, harp: Harp) -> None:
        self.part, self.scenes, self.scene, self.harp = part, scenes, scene, harp

    def all(self) -> Iterator[Proposal]:
        finding = self.scene.finding
        if finding.severity is not Severity.REMARK:
            for maker in _MAKERS.get(finding.kind, ()):
                yield from maker(self)
        elif finding.kind in _OF_SPELLING:
            yield from self.remark()

    # What each kind of finding makes one think of.

    def clash(self) -> Iterator[Proposal]:
        """Notes that no setting sounds together: one of the letters concerned must give way."""
        notes = self.scene.notes
        yield from self.misprint()
        yield from self._plain()
        yield from self._without(notes)
        yield from self._given(notes)
        for note in notes:
            yield from self._held(note)
        letters = {one.letter for note in notes for one in strings_for(note.pitch)}
        ways: dict[tuple[object, object], list[Played]] = {}
        for one in self.scene.together:
            if not one.silent and one.letter in letters:
                ways.setdefault(one.key, []).append(one)
        for group in ways.values():
            yield from self._without(group)

    def misprint(self) -> Iterator[Proposal]:
        """One of two octaves of a letter takes the alteration of the other, in all of its bar."""
        for note in self.scene.notes:
            for other in self.scenes.at.get(note.place, ()):
                one, two = note.pitch, other.pitch
                if one.letter is not two.letter or one.alter == two.alter:
                    continue
                if one.octave == two.octave:
                    continue
                for wrong, right in ((note, other), (other, note)):
                    yield self._as_in(wrong, right)

    def _as_in(self, wrong: Played, right: Played) -> Proposal:
        """A note and all that its accidental holds for, altered as another one of its letter."""
        pitch = Pitch(wrong.pitch.letter, right.pitch.alter, wrong.pitch.octave)
        held = [
            one
            for one in self.scenes.notes.values()
            if one.pitch == wrong.pitch
            and one.event.staff == wrong.event.staff
            and one.place.bar == wrong.place.bar
        ]
        what = (
            f"Write {pitch} for {wrong.pitch} {self._at(wrong)}, as in {right.pitch}: probably a "
            "misprint."
        )
        edits = tuple(NoteEdit(one.head.id, pitch) for one in held)
        return Proposal(MendKind.MISPRINT, what, edits)

    def foot(self) -> Iterator[Proposal]:
        """A foot without time: the new note, the old one or the rival change must give way."""
        scene = self.scene
        yield from self._respelled(scene.notes)
        yield from self._respelled_around(scene.notes)
        yield from self._earlier()
        yield from self._plain()
        yield from self._respelled(scene.rivals)
        yield from self._respelled_around(scene.rivals)
        yield from self._without(scene.notes)
        yield from self._without(scene.rivals)
        if len(scene.notes) == 1:
            yield from self._held(scene.notes[0])
        yield from self._given(scene.notes)
        yield from self._given(scene.rivals)

    def ringing(self) -> Iterator[Proposal]:
        """A pedal under a held note: end the note, or spare the move."""
        yield from self._shortened()
        yield from self._plain()
        yield from self._respelled(self.scene.notes)
        yield from self._respelled(self.scene.old)
        yield from self._without(self.scene.notes)
        yield from self._given(self.scene.notes)
        yield from self._given(self.scene.old)

    def compass(self) -> Iterator[Proposal]:
        """A note without string or with a string that has no pedal."""
        for note in self.scene.notes:
            yield from self._octaves(note)
            yield from self._without((note,))
            if self.scene.finding.kind is FindingKind.NO_PEDAL:
                yield from self._given((note,))

    def glissando(self) -> Iterator[Proposal]:
        """Notes struck with a glissando that wants their letters elsewhere."""
        line = set(self.scene.finding.notes)
        struck = [one for one in self.scene.together if one.head.id not in line]
        start = [one for one in self.scene.together if one.head.id in line]
        wrong = [one for one in struck if f" {one.letter.value}" in self.scene.finding.what]
        for one in wrong:
            yield from self._respelled((one,))
        yield from self._without(wrong)
        yield from self._given(wrong)
        yield from self._given(start)

    def hand(self) -> Iterator[Proposal]:
        """Too many notes for a hand, or too wide a span."""
        notes = self.scene.notes
        if len(notes) < 2:
            return
        for note in notes:
            if self._doubles(note):
                yield from self._without((note,))
        low = min(notes, key=lambda one: one.pitch.midi)
        high = max(notes, key=lambda one: one.pitch.midi)
        yield from self._octaves(low, up=True)
        yield from self._octaves(high, up=False)
        for note in (low, high, *notes):
            yield from self._without((note,))
        yield from self._given((low,))
        yield from self._given((high,))
        inner = [one for one in notes if one not in (low, high)]
        yield from self._given(inner)
        if len(inner) > 2:
            yield from self._without(inner[::2])

    def repeated(self) -> Iterator[Proposal]:
        """A repetition: play it in turn on the equal string, or share it with a second harp."""
        places = sorted({one.place for one in self.scene.notes})
        turn = set(places[1::2])
        second = [one for one in self.scene.notes if one.place in turn]
        respelled = [self._respelling(one) for one in second]
        edits = tuple(edit for edit in respelled if edit is not None)
        if second and len(edits) == len(second):
            pairs = {
                f"{one.pitch.name} and {_name(edit.pitch)}": None
                for one, edit in zip(second, edits, strict=True)
            }
            what = f"Write it on two strings in turn, {', '.join(pairs)}, "
            yield Proposal(MendKind.RESPELL, f"{what}{self._from_to(self.scene.notes)}.", edits)
        if second:
            yield from self._given(second, "every other repetition")
            yield from self._without(second, "every other repetition")

    def run(self) -> Iterator[Proposal]:
        """A chromatic run: two harps, each with the notes of one setting, or beat by beat."""
        notes = self.scene.notes
        if not notes:
            return
        signed = [one for one in notes if one.pitch.alter]
        plain = [one for one in notes if not one.pitch.alter]
        yield from self._given(signed, "the notes with sharps and flats", plain)
        beat = self.part.bars[notes[0].place.bar].time.beat
        for odd in (1, 0):
            turn = [one for one in notes if int(one.event.onset // beat) % 2 == odd]
            yield from self._given(turn, "every other beat")
        yield from self._without(signed, "the notes with sharps and flats")

    def remark(self) -> Iterator[Proposal]:
        """A note that is played on another letter than written: write it so."""
        edits, told = [], []
        for one in self.scene.notes:
            if one.silent or one.head.spanners or one.event.ornaments:
                continue
            pitch = self._played_pitch(one)
            if pitch is not None and pitch != one.pitch:
                edits.append(NoteEdit(one.head.id, pitch))
                told.append(f"{one.pitch.name} as {_name(pitch)}")
        if edits:
            what = f"Write {listed(told)}, as it is played, {self._from_to(self.scene.notes)}."
            yield Proposal(MendKind.RESPELL, what, tuple(edits))

    # Ways to give way.

    def _respelled(self, notes: Sequence[Played]) -> Iterator[Proposal]:
        edits = [edit for edit in (self._respelling(one) for one in notes) if edit is not None]
        written = all(one.pitch == edit.pitch for one, edit in zip(notes, edits, strict=False))
        if notes and len(edits) == len(notes) and not written:
            yield self._respelling_of(notes, edits)

    def _respelled_around(self, notes: Sequence[Played]) -> Iterator[Proposal]:
        """The same for the notes of one letter and position in all bars around."""
        if not notes or len({one.key for one in notes}) != 1:
            return
        span = self.scenes.needing(notes[0].key, self.scene.first - 1, self.scene.last + 1)
        if len(span) > len(notes):
            yield from self._respelled(span)

    def _moved(self, note: Played) -> bool:
        """Whether the note is played on another letter than written."""
        return not note.silent and note.letter is not note.pitch.letter

    def _respelling_of(self, notes: Sequence[Played], edits: Sequence[NoteEdit]) -> Proposal:
        told = [
            f"{one.pitch.name} as {_name(edit.pitch)}"
            for one, edit in zip(notes, edits, strict=True)
            if one.pitch != edit.pitch
        ]
        what = f"Write {listed(told)} {self._from_to(notes)}."
        return Proposal(MendKind.RESPELL, what, tuple(edits))

    def _respelling(self, note: Played) -> NoteEdit | None:
        """The note on the other string that sounds alike; None if there is none."""
        if note.head.spanners or note.event.ornaments:
            return None
        for sounding in strings_for(note.pitch):
            fits = self.harp.has(sounding.string) and self.harp.works_by_pedal(sounding.string)
            if sounding.letter is not note.letter and fits:
                pitch = pitch_on(sounding, note.event)
                return NoteEdit(note.head.id, pitch)
        return None

    def _played_pitch(self, note: Played) -> Pitch | None:
        for sounding in strings_for(note.pitch):
            if sounding.letter is note.letter and sounding.position is note.position:
                return pitch_on(sounding, note.event)
        return None

    def _earlier(self) -> Iterator[Proposal]:
        """The note that keeps the old position longest gives way, so that the change can move."""
        old, change = self.scene.old, self.scene.change
        if not old or change is None:
            return
        then = f", so that {change.text} can move before it"
        for proposal in (*self._respelled(old), *self._without(old)):
            what = proposal.what.rstrip(".") + then + "."
            yield Proposal(MendKind.EARLIER, what, proposal.edits, otherwise=proposal)
        if len(old) == 1:
            one = old[0]
            new = Pitch(one.letter, int(change.new), self._octave(one))
            if new != one.pitch:
                what = f"Write {new} for {one.pitch} {self._at(one)}{then}."
                yield Proposal(MendKind.EARLIER, what, (NoteEdit(one.head.id, new),))

    def _plain(self) -> Iterator[Proposal]:
        """A note with a trill or the like is played without it."""
        for one in self.scene.adorned:
            what = f"Play {one.pitch} {self._at(one)} without its {ornament_called(one.event)}."
            yield Proposal(MendKind.PLAIN, what, (NoteEdit(one.head.id, one.pitch, plain=True),))

    def _octave(self, note: Played) -> int:
        for sounding in strings_for(note.pitch):
            if sounding.letter is note.letter:
                return sounding.string.octave + note.event.harmonic_printed_at_sound
        return note.pitch.octave

    def _held(self, note: Played) -> Iterator[Proposal]:
        """The note takes what its letter sounds already, and the pedal stays."""
        taken = {one.letter: one.position for one in self.scene.together if not one.silent}
        change = self.scene.change
        position = change.old if change is not None else taken.get(note.letter)
        if position is None or position is note.position:
            return
        pitch = Pitch(note.letter, int(position), self._octave(note))
        if pitch == note.pitch:
            return
        stays = f"{note.letter.value}{position.sign} stays"
        what = f"Write {pitch} for {note.pitch} {self._at(note)}: {stays}."
        yield Proposal(MendKind.HOLD, what, (NoteEdit(note.head.id, pitch),))

    def _without(self, notes: Sequence[Played], told: str = "") -> Iterator[Proposal]:
        if not notes:
            return
        edits = tuple(NoteEdit(one.head.id, None) for one in notes)
        names = told or listed(str(one.pitch) for one in notes)
        what = f"Leave out {names} {self._from_to(notes)}"
        doubled = [self._doubles(one, notes) for one in notes]
        kind = MendKind.THIN
        if all(doubled):
            kind = MendKind.DOUBLING
            same = listed(str(one.pitch) for one in doubled if one is not None)
            what += f", where {same} {'sound' if ' and ' in same else 'sounds'} the same"
        yield Proposal(kind, f"{what}.", edits)

    def _doubles(self, note: Played, gone: Sequence[Played] = ()) -> Played | None:
        """What still sounds the same at its moment, in another octave or on another string."""
        here = self.scenes.at.get(note.place, ())
        same = [
            one
            for one in here
            if one is not note
            and one not in gone
            and not one.silent
            and (one.pitch.midi - note.pitch.midi) % 12 == 0
        ]
        return min(same, key=lambda one: abs(one.pitch.midi - note.pitch.midi)) if same else None

    def _given(
        self, notes: Sequence[Played], told: str = "", kept: Sequence[Played] = ()
    ) -> Iterator[Proposal]:
        """Notes for a second harp; those that are ``kept`` can then be played as written."""
        if not notes:
            return
        edits = tuple(
            [NoteEdit(one.head.id, None) for one in notes]
            + [NoteEdit(one.head.id, one.pitch) for one in kept if self._moved(one)]
        )
        names = told or listed(str(one.pitch) for one in notes)
        what = f"Give {names} {self._from_to(notes)} to a second harp."
        given = tuple(one.head.id for one in notes)
        yield Proposal(MendKind.SECOND_HARP, what, edits, given)

    def _octaves(self, note: Played, *, up: bool | None = None) -> Iterator[Proposal]:
        """The note in another octave, by one or, for a note far outside, more."""
        if up is None:
            up = note.pitch.octave < 4
        for octaves in (1, 2):
            octave = note.pitch.octave + (octaves if up else -octaves)
            pitch = Pitch(note.pitch.letter, note.pitch.alter, octave)
            if any(self.harp.has(sounding.string) for sounding in strings_for(pitch)):
                how = "an octave" if octaves == 1 else "two octaves"
                way = "higher" if up else "lower"
                what = f"Write {note.pitch} {self._at(note)} {how} {way}, as {pitch}."
                yield Proposal(MendKind.OCTAVE, what, (NoteEdit(note.head.id, pitch),))
                return

    def _shortened(self) -> Iterator[Proposal]:
        """The held note ends at the barline or beat before the pedal moves: its tie goes."""
        change = self.scene.change
        if change is None:
            return
        after = followers(self.part)
        where = {head.id: event for event, head in self.part.notes()}
        moved = self.part.onset_of(change.place)
        edits = []
        for one in self.scene.old:
            note: str | None = one.head.id
            while note is not None and where[note].end <= moved:
                note = after.get(note)
            if note is None or note == one.head.id:
                return
            edits.append(NoteEdit(note, None))
        if edits:
            names = listed(str(one.pitch) for one in self.scene.old)
            at = self.part.told_place(self.part.place_of(where[edits[0].note]))
            what = f"End {names} before {at}: leave out what is tied to it there."
            yield Proposal(MendKind.SHORTEN, what, tuple(edits))

    # Words.

    def _at(self, note: Played) -> str:
        return f"in {self.part.told_place(note.place)}"

    def _from_to(self, notes: Sequence[Played]) -> str:
        places = sorted({one.place for one in notes})
        if len(places) == 1:
            return f"in {self.part.told_place(places[0])}"
        first, last = self.part.told_place(places[0]), self.part.told_place(places[-1])
        return f"from {first} to {last}"


_MAKERS: dict[FindingKind, tuple[Maker, ...]] = {
    FindingKind.TWO_POSITIONS: (_Proposer.clash,),
    FindingKind.NO_SETTING: (_Proposer.clash,),
    FindingKind.FOOT_TOO_FAST: (_Proposer.foot,),
    FindingKind.FOOT_HURRIED: (_Proposer.foot,),
    FindingKind.REENTRY: (_Proposer.foot,),
    FindingKind.RINGING: (_Proposer.ringing,),
    FindingKind.OUT_OF_RANGE: (_Proposer.compass,),
    FindingKind.NO_PEDAL: (_Proposer.compass,),
    FindingKind.GLISSANDO: (_Proposer.glissando,),
    FindingKind.HAND_FULL: (_Proposer.hand,),
    FindingKind.WIDE_SPAN: (_Proposer.hand,),
    FindingKind.REPEATED_STRING: (_Proposer.repeated,),
    FindingKind.CHROMATIC_RUN: (_Proposer.run,),
}

_OF_SPELLING = {
    FindingKind.TWO_POSITIONS,
    FindingKind.FOOT_TOO_FAST,
    FindingKind.RINGING,
    FindingKind.FEWER_CHANGES,
    FindingKind.DOUBLE_ALTERATION,
}
"""Kinds whose remarks say that a note is played on another letter than written."""


def _name(pitch: Pitch | None) -> str:
    return pitch.name if pitch is not None else ""
