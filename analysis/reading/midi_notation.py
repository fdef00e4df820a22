"""MIDI on paper: two staves for a harp that is one track, and a spelling that follows the key."""

from __future__ import annotations

from copy import deepcopy
from itertools import pairwise
from typing import Any

from lxml import etree

from pedalsetter.analysis.instrument.harp import NATURAL_PITCH_CLASS, Letter
from pedalsetter.analysis.reading.figures import whole

__all__ = ["on_two_staves", "spell_by_key"]

_MIDDLE_C = 60
_HARP_PROGRAM = 46
"""music21 counts MIDI programs from 0."""


def on_two_staves(score: Any) -> Any:
    """The music21 score with each one-track harp (or the only track) divided at middle C.

    A track holds notes for both hands; what lies at or above middle C goes to the upper staff. A
    part that stays within one staff is left as it is; where its notes overlap it is freed of the
    bars that music21 has given it, so that they become voices in bars of the right length.
    """
    from music21 import stream

    parts = list(score.parts)
    divided = stream.Score()
    changed = False
    for part in parts:
        numbers = [pitch.midi for pitch in part.flatten().pitches]
        is_harp = any(
            instrument.midiProgram == _HARP_PROGRAM
            for instrument in part.recurse().getElementsByClass("Instrument")
        )
        spans = numbers and min(numbers) < _MIDDLE_C - 5 and max(numbers) > _MIDDLE_C + 5
        if spans and (is_harp or len(parts) == 1):
            changed = True
            for half in _halves(part):
                divided.insert(0, half)
        elif _overlaps(part):
            changed = True
            divided.insert(0, _whole(part))
        else:
            divided.insert(0, part)
    return divided if changed else score


def _overlaps(part: Any) -> bool:
    """Whether a note begins before the one before it has ended, or with it and lasts otherwise."""
    notes = sorted(part.flatten().notes, key=lambda each: each.offset)
    return any(one.offset + one.quarterLength > other.offset for one, other in pairwise(notes))


def _whole(part: Any) -> Any:
    from music21 import note, stream

    flat = stream.Part()
    flat.partName = part.partName
    for element in part.flatten():
        if not isinstance(element, note.Rest):
            flat.insert(element.offset, element)
    flat.makeRests(fillGaps=True, inPlace=True)
    return flat


def _halves(part: Any) -> tuple[Any, Any]:
    from music21 import chord, clef, note, stream
    from music21 import key as keys
    from music21 import meter as meters

    upper, lower = stream.Part(), stream.Part()
    upper.partName = lower.partName = part.partName or "Harp"
    upper.insert(0, clef.TrebleClef())
    lower.insert(0, clef.BassClef())
    for element in part.flatten():
        if isinstance(element, (clef.Clef, note.Rest)):
            continue
        if isinstance(element, (note.Note, chord.Chord)):
            members = element.notes if isinstance(element, chord.Chord) else (element,)
            for half, chosen in (
                (upper, [each for each in members if each.pitch.midi >= _MIDDLE_C]),
                (lower, [each for each in members if each.pitch.midi < _MIDDLE_C]),
            ):
                if chosen:
                    whole = chosen[0] if len(chosen) == 1 else chord.Chord(chosen)
                    whole.duration = element.duration
                    half.insert(element.offset, whole)
            continue
        upper.insert(element.offset, element)
        if isinstance(element, (meters.TimeSignature, keys.KeySignature)):
            lower.insert(element.offset, deepcopy(element))
    end = part.flatten().highestTime
    for half in (upper, lower):
        half.makeRests(refStreamOrTimeRange=(0, end), fillGaps=True, inPlace=True)
    return upper, lower


def spell_by_key(root: etree._Element) -> None:
    """Spell every pitch by the key in force: seven diatonic notes, and five as near as can be.

    The twelve names lie side by side on the line of fifths, from three fifths below the keynote of
    the signature to eight above: in C from E flat to G sharp (common practice, no source). Printed
    accidentals of the old spelling are dropped.
    """
    for part in root.iterfind("part"):
        fifths = 0
        for element in part.iter("key", "note"):
            if element.tag == "key":
                fifths = whole(element.findtext("fifths"), 0, least=-7, most=7)
                continue
            pitch = element.find("pitch")
            if pitch is not None:
                _respell(pitch, fifths)
            for accidental in element.findall("accidental"):
                element.remove(accidental)


_LINE_OF_FIFTHS = "FCGDAEB"


def _respell(pitch: etree._Element, fifths: int) -> None:
    step, octave, alter = pitch.find("step"), pitch.find("octave"), pitch.find("alter")
    if step is None or octave is None:
        return
    semitones = round(float(alter.text or "0")) if alter is not None else 0
    midi = (
        12 * (int(octave.text or "4") + 1)
        + NATURAL_PITCH_CLASS[Letter(step.text or "C")]
        + semitones
    )
    for place in range(fifths - 3, fifths + 9):
        # F is −1 on the line that counts C as 0.
        sharps, index = divmod(place + 1, 7)
        letter = Letter(_LINE_OF_FIFTHS[index])
        natural = NATURAL_PITCH_CLASS[letter]
        if (natural + sharps - midi) % 12 == 0:
            break
    else:
        return
    step.text = letter.value
    octave.text = str((midi - natural - sharps) // 12 - 1)
    if alter is not None:
        pitch.remove(alter)
    if sharps:
        sign = etree.Element("alter")
        sign.text = str(sharps)
        step.addnext(sign)
