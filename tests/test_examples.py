"""The example scores as scores: whole bars, true accidentals, closed spanners, playable chords."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import music21
import pytest
from example_scores import (
    EVENING_WATER,
    EXAMPLES,
    ORCHESTRAL_NOCTURNE,
    THREE_TIMES_ROUND,
    Example,
)
from lxml import etree
from score_xml import bar_lengths, can_be_set, harp_of, pitch_of, struck, text, timed_notes

from pedalsetter.analysis.instrument.harp import Harp, Letter
from pedalsetter.analysis.instrument.respelling import strings_for

by_name = pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.file)

playable_by_design = pytest.mark.parametrize(
    "example",
    [EVENING_WATER, ORCHESTRAL_NOCTURNE, THREE_TIMES_ROUND],
    ids=lambda example: example.file,
)


@by_name
def test_the_header_is_complete(example: Example) -> None:
    """Title, composer, software, page, and for each part an instrument with sound and program."""
    root = example.root()

    assert root.get("version") == "4.0"
    assert text(root, "work/work-title") == example.title
    assert text(root, "identification/creator[@type='composer']") == "Pedalsetter examples"
    assert text(root, "identification/encoding/software") == "Pedalsetter examples"
    assert example.title in [credit.text for credit in root.iter("credit-words")]
    assert root.find("defaults/page-layout") is not None
    assert tuple(name.text for name in root.iter("part-name")) == example.parts
    for entry in root.iter("score-part"):
        assert text(entry, "score-instrument/instrument-sound")
        assert 1 <= int(text(entry, "midi-instrument/midi-program")) <= 128


@by_name
def test_the_harp_is_a_harp_of_two_staves(example: Example) -> None:
    """Sound pluck.harp, General MIDI program 47 counted from 1, treble and bass clef."""
    part = harp_of(example)
    (entry,) = (e for e in example.root().iter("score-part") if e.get("id") == part.get("id"))

    assert text(entry, "score-instrument/instrument-sound") == "pluck.harp"
    assert text(entry, "midi-instrument/midi-program") == "47"
    assert text(part, "measure/attributes/staves") == "2"
    assert [c.findtext("sign") for c in part.findall("measure/attributes/clef")][:2] == ["G", "F"]


@by_name
def test_another_library_reads_as_many_parts_and_bars(example: Example) -> None:
    """music21 finds the same parts (a harp as two staves), bars and number of sounding notes."""
    score = music21.converter.parse(example.path, forceSource=True)
    names = Counter(part.partName for part in score.parts)
    bars = {len(part.getElementsByClass("Measure")) for part in score.parts}
    heads = sum(len(note.pitches) for part in score.parts for note in part.recurse().notes)

    assert names == {name: 2 if name == "Harp" else 1 for name in example.parts}
    assert bars == {example.bars}
    assert heads == sum(1 for _ in example.root().iter("pitch"))
    assert score.metadata.composer == "Pedalsetter examples"


@by_name
def test_every_voice_fills_every_bar(example: Example) -> None:
    """In each bar each voice runs from barline to barline without gap or overlap.

    Only a pickup is shorter, and then in all voices alike.
    """
    for part in example.root().iter("part"):
        lengths = {m.get("number"): (m, full) for m, full in bar_lengths(part)}
        ends: dict[tuple[str, str], Fraction] = {}
        for number, onset, length, note in timed_notes(part):
            key = (number, text(note, "voice"))
            if note.find("chord") is None and note.find("grace") is None:
                assert onset == ends.get(key, Fraction(0)), key
                ends[key] = onset + length

        assert {number for number, _ in ends} == set(lengths)
        for (number, voice), end in ends.items():
            measure, full = lengths[number]
            if measure.get("implicit") == "yes":
                assert {e for (n, _), e in ends.items() if n == number} == {end}
                assert end < full
            else:
                assert end == full, (part.get("id"), number, voice)


@by_name
def test_printed_values_last_as_long_as_they_sound(example: Example) -> None:
    """Note value, dots and tuplet figures give the same length as the duration."""
    names = ["whole", "half", "quarter", "eighth", "16th", "32nd"]
    for part in example.root().iter("part"):
        for number, _, length, note in timed_notes(part):
            if note.find("grace") is not None or note.find("type") is None:
                continue
            value = Fraction(4, 2 ** names.index(text(note, "type")))
            value *= 2 - Fraction(1, 2 ** len(note.findall("dot")))
            if note.find("time-modification") is not None:
                value *= Fraction(
                    int(text(note, "time-modification/normal-notes")),
                    int(text(note, "time-modification/actual-notes")),
                )

            assert value == length, (part.get("id"), number)


@by_name
def test_every_printed_accidental_is_true(example: Example) -> None:
    """Key signature and accidentals, bar by bar, say the alteration of every note.

    A sign holds for its line to the end of the bar; a tied note keeps its own.
    """
    signs = {
        "flat-flat": -2,
        "flat": -1,
        "natural": 0,
        "sharp": 1,
        "double-sharp": 2,
    }
    for part in example.root().iter("part"):
        for measure in part.iter("measure"):
            if measure.find("attributes/key") is not None:
                key = music21.key.KeySignature(int(text(measure, "attributes/key/fifths")))
                signature = {p.step: int(p.alter) for p in key.alteredPitches}
            one_bar = etree.Element("part")
            one_bar.append(etree.fromstring(etree.tostring(measure)))
            in_force: dict[tuple[str, Letter, int], int] = {}
            notes = [
                (onset, length > 0, note)
                for _, onset, length, note in timed_notes(one_bar)
                if note.find("pitch") is not None
            ]
            for _, _, note in sorted(notes, key=lambda entry: entry[:2]):
                pitch = pitch_of(note)
                line = (text(note, "staff"), pitch.letter, pitch.octave)
                if any(tie.get("type") == "stop" for tie in note.iter("tie")):
                    continue
                if note.find("accidental") is not None:
                    in_force[line] = signs[text(note, "accidental")]
                said = in_force.get(line, signature.get(pitch.letter.value, 0))

                assert pitch.alter == said, (part.get("id"), measure.get("number"), str(pitch))


@by_name
@pytest.mark.parametrize("kind", ["slur", "tuplet", "glissando", "wedge", "octave-shift", "tied"])
def test_what_is_opened_is_closed(example: Example, kind: str) -> None:
    """Every slur, tuplet, glissando, hairpin, octave line and tie has a start and an end."""
    for part in example.root().iter("part"):
        open_now: Counter[str] = Counter()
        for element in part.iter(kind):
            if element.get("type") == "let-ring":
                continue
            step = -1 if element.get("type") == "stop" else 1
            open_now[element.get("number", "1")] += step
            if kind != "tied":
                assert open_now[element.get("number", "1")] in (0, 1), part.get("id")

        assert not +open_now
        assert not -open_now


@by_name
def test_beams_begin_and_end(example: Example) -> None:
    """Within a bar and voice each beam is begun, continued and ended in order."""
    for part in example.root().iter("part"):
        for measure in part.iter("measure"):
            now: dict[tuple[str, str, bool], str] = {}
            for note in measure.iter("note"):
                grace = note.find("grace") is not None
                for beam in note.iter("beam"):
                    if "hook" in str(beam.text):
                        continue
                    key = (text(note, "voice"), beam.get("number", ""), grace)
                    before = now.get(key, "end")
                    after = str(beam.text)

                    assert (before == "end") == (after == "begin"), measure.get("number")
                    now[key] = after
            assert set(now.values()) <= {"end"}


@by_name
def test_keys_and_rehearsal_marks_stand_where_they_are_told(example: Example) -> None:
    """Each key change follows a double bar; rehearsal marks stand in the top part alone."""
    root = example.root()
    harp = harp_of(example)
    changes = [m for m in harp.iter("measure") if m.find("attributes/key") is not None]
    top, *others = root.findall("part")

    assert tuple(int(text(m, "attributes/key/fifths")) for m in changes) == example.fifths
    for measure in changes[1:]:
        before = measure.getprevious()
        assert before is not None
        assert text(before, "barline[@location='right']/bar-style") == "light-light"
    assert tuple(mark.text for mark in top.iter("rehearsal")) == example.rehearsal_marks
    for part in others:
        assert not list(part.iter("rehearsal"))
        assert not list(part.iter("metronome"))
        assert not [sound for sound in part.iter("sound") if sound.get("tempo")]
    assert list(top.iter("metronome"))


@playable_by_design
def test_hands_can_reach_every_chord(example: Example) -> None:
    """At most four notes a hand, none wider than a tenth, all on the instrument.

    Four fingers: Rimsky-Korsakov, Principles of Orchestration, ch. I. A tenth in comfort: common
    practice, no source. A staff is taken for a hand; in cross-staff figures it is.
    """
    for place, notes in struck(example).items():
        for staff in ("1", "2"):
            hand = sorted(
                (s for n in notes if text(n, "staff") == staff for s in [pitch_of(n)]),
                key=lambda pitch: pitch.midi,
            )
            assert len(hand) <= 4, (place, staff)
            if hand:
                steps = [strings_for(pitch)[0].string.step for pitch in hand]
                assert max(steps) - min(steps) <= 9, (place, staff)
            for pitch in hand:
                assert any(Harp().has(s.string) for s in strings_for(pitch)), str(pitch)


@playable_by_design
def test_every_chord_has_a_setting(example: Example) -> None:
    """What is struck together can be set together, by respelling where need be."""
    for place, notes in struck(example).items():
        assert can_be_set([pitch_of(note) for note in notes]), place
