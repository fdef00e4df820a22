"""``<pitch>``: letter, alteration and octave, as written and at sounding height."""

from __future__ import annotations

from lxml import etree

from pedalsetter.analysis.instrument.harp import NATURAL_PITCH_CLASS, Letter
from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.reading.attributes import Transposition
from pedalsetter.analysis.reading.figures import decimal
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["PitchReader", "transposed"]

_SCALE = "CDEFGAB"


class PitchReader:
    """Reads pitches; equal ones are one value, which keeps long parts small."""

    def __init__(self, notices: Notices) -> None:
        self._notices = notices
        self._known: dict[tuple[str | None, ...], Pitch] = {}
        self.transposition = Transposition(0, 0)

    def read(self, pitch: etree._Element) -> Pitch | None:
        """The pitch of a ``<pitch>`` element; None where it cannot be understood."""
        step = octave = alter = None
        for child in pitch:
            if child.tag == "step":
                step = child.text
            elif child.tag == "octave":
                octave = child.text
            elif child.tag == "alter":
                alter = child.text
        key = (step, octave, alter)
        known = self._known.get(key)
        if known is not None:
            return known
        found = self._read(step, octave, alter)
        # A pitch that earns a notice is read anew each time, so that each is counted.
        if found is not None and (alter is None or alter.strip() in ("-2", "-1", "0", "1", "2")):
            self._known[key] = found
        return found

    def forget(self) -> None:
        """Drop what was read: the transposition has changed."""
        self._known.clear()

    def _read(self, step: str | None, octave: str | None, alter: str | None) -> Pitch | None:
        name = (step or "").strip().upper()
        height = decimal(octave)
        exact = decimal((alter or "").strip() or "0")
        understood = len(name) == 1 and name in _SCALE and exact is not None and abs(exact) < 12
        if not understood or exact is None or height is None or not 0 <= height <= 10:
            self._notices.add("a note without an understandable pitch is shown as a rest")
            return None
        letter = Letter(name)
        semitones = round(exact)
        if semitones != exact:
            self._notices.add("a microtone is rounded to the nearest semitone")
        if abs(semitones) > 2:
            self._notices.add("a triple alteration is spelled with another letter")
        diatonic, chromatic = self.transposition.diatonic, self.transposition.chromatic
        return transposed(letter, semitones, int(height), diatonic, chromatic)

    def display(self, element: etree._Element) -> Pitch | None:
        """Where ``<display-step>`` and ``<display-octave>`` put a rest; None if they do not."""
        step = (element.findtext("display-step") or "").strip().upper()
        octave = decimal(element.findtext("display-octave"))
        if len(step) != 1 or step not in _SCALE or octave is None:
            return None
        return Pitch(Letter(step), 0, int(octave))


def transposed(letter: Letter, alter: int, octave: int, diatonic: int, chromatic: int) -> Pitch:
    """The pitch that lies ``diatonic`` steps and ``chromatic`` semitones higher.

    Where the result would need more than a double sign, the next letter is taken.
    """
    midi = 12 * (octave + 1) + NATURAL_PITCH_CLASS[letter] + alter + chromatic
    place = octave * 7 + _SCALE.index(letter.value) + diatonic
    while True:
        height, index = divmod(place, 7)
        natural = 12 * (height + 1) + NATURAL_PITCH_CLASS[Letter(_SCALE[index])]
        if abs(midi - natural) <= 2:
            return Pitch(Letter(_SCALE[index]), midi - natural, height)
        place += 1 if midi > natural else -1
