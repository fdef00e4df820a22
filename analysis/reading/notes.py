"""``<note>``: a chord's first note, a further note of a chord, a rest or a grace note."""

from __future__ import annotations

import re
from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part import Beam, Grace, Lyric, NotatedLength
from pedalsetter.analysis.reading.draft import EventDraft, HeadDraft, Modification
from pedalsetter.analysis.reading.figures import whole
from pedalsetter.analysis.reading.notations import read_notations
from pedalsetter.analysis.reading.note_values import LOG
from pedalsetter.analysis.reading.notices import Notices
from pedalsetter.analysis.reading.pitches import PitchReader

__all__ = ["read_note"]

_BEAM = {"begin": Beam.BEGIN, "continue": Beam.CONTINUE, "end": Beam.END}

_MIDDLE = Pitch(Letter.B, 0, 4)
"""Where a note without pitch stands if its source does not say."""

_UNDERSTOOD = frozenset(
    re.findall(
        r"\S+",
        """
        grace duration instrument footnote level stem beam type dot voice staff accidental
        pitch rest unpitched chord cue tie time-modification notehead notations lyric
        notehead-text listen
        """,
    )
)


def read_note(
    note: etree._Element,
    identity: str,
    chord: EventDraft | None,
    offset: Fraction,
    length: Fraction,
    staff_shift: int,
    order: int,
    pitches: PitchReader,
    notices: Notices,
) -> EventDraft:
    """Read one ``<note>``; ``chord`` is the event to which a ``<chord/>`` note adds its head.

    A note without pitch (a knock on the soundboard) has no string and becomes no head.
    """
    event = chord
    if event is None:
        event = EventDraft(identity, offset, length, 1, "1", order)
    head: HeadDraft | None = None
    dots = 0
    value: int | None = None
    later: list[etree._Element] = []
    ties: list[str | None] = []
    shape: etree._Element | None = None
    accidental: str | None = None
    staff = 1
    for child in note:
        tag = child.tag
        if tag == "pitch":
            pitch = pitches.read(child)
            if pitch is not None:
                head = HeadDraft(identity, pitch)
        elif tag == "type":
            value = LOG.get((child.text or "").strip())
            if child.get("size") in ("cue", "grace-cue"):
                event.small = True
        elif tag == "dot":
            dots += 1
        elif tag == "voice":
            if chord is None:
                event.voice = (child.text or "1").strip() or "1"
        elif tag == "staff":
            staff = whole(child.text, 1, least=1, most=8)
        elif tag == "beam":
            if chord is None and child.get("number", "1") == "1":
                event.beam = _BEAM.get((child.text or "").strip(), event.beam)
        elif tag == "stem":
            if chord is None:
                stem = (child.text or "").strip()
                event.stem = stem if stem in ("up", "down", "none") else None
        elif tag in ("notations", "lyric"):
            later.append(child)
        elif tag == "tie":
            ties.append(child.get("type"))
        elif tag == "accidental":
            accidental = _printed_accidental(child)
        elif tag == "time-modification":
            if chord is None:
                event.modification = _modification(child)
        elif tag == "rest":
            event.rest_pitch = pitches.display(child)
            event.bar_rest = child.get("measure") == "yes"
        elif tag == "grace":
            if chord is None:
                event.grace = Grace(
                    slash=child.get("slash") == "yes",
                    after=child.get("steal-time-previous") is not None
                    and child.get("steal-time-following") is None,
                )
        elif tag == "cue":
            event.cue = event.small = True
        elif tag == "unpitched":
            event.knocks.append(pitches.display(child) or _MIDDLE)
        elif tag == "notehead":
            shape = child
        elif tag == "play":
            if child.find("mute") is not None:
                notices.add("a mute in the playback was left out")
        elif tag not in _UNDERSTOOD:
            notices.add(f"'{tag}' inside a note was left out")
    if chord is None:
        event.staff = staff + staff_shift
        event.visible = note.get("print-object") != "no"
        if value is not None:
            event.notated = NotatedLength(value, dots)
    if head is not None:
        head.staff = staff + staff_shift
        head.visible = note.get("print-object") != "no"
        if accidental is not None:
            head.accidental = accidental
        if shape is not None:
            head.shape = (shape.text or "normal").strip() or "normal"
            head.parentheses = shape.get("parentheses") == "yes"
        head.tie_start = "start" in ties
        head.tie_stop = "stop" in ties
        head.let_ring = "let-ring" in ties
        event.heads.append(head)
    for child in later:
        if child.tag == "notations":
            read_notations(child, event, head, notices)
        else:
            _read_lyric(child, event, notices)
    if head is not None and head.let_ring:
        head.tie_start = False
    if event.heads and event.bar_rest:
        notices.add("a note that is a rest too is read as a note")
        event.bar_rest = False
    return event


def _printed_accidental(accidental: etree._Element) -> str | None:
    if not (accidental.text or "").strip():
        return None
    if accidental.get("bracket") == "yes":
        return "brackets"
    if accidental.get("parentheses") == "yes":
        return "parentheses"
    return "plain"


def _modification(element: etree._Element) -> Modification | None:
    actual = whole(element.findtext("actual-notes"), 1, least=1)
    normal = whole(element.findtext("normal-notes"), 1, least=1)
    if actual == normal:
        return None
    log = LOG.get((element.findtext("normal-type") or "").strip())
    unit = None
    if log is not None:
        unit = NotatedLength(log, len(element.findall("normal-dot"))).quarters
    return Modification(actual, normal, unit)


def _read_lyric(lyric: etree._Element, event: EventDraft, notices: Notices) -> None:
    if lyric.get("print-object") == "no":
        return
    words = []
    for child in lyric:
        if child.tag == "text":
            words.append(child.text or "")
        elif child.tag == "elision":
            words.append(child.text or "‿")
        elif child.tag in ("laughing", "humming"):
            notices.add(f"a lyric '{child.tag}' was left out")
    extend = lyric.find("extend")
    syllabic = (lyric.findtext("syllabic") or "single").strip()
    text = "".join(words)
    if not text and extend is None:
        return
    event.lyrics.append(
        Lyric(
            verse=lyric.get("number") or lyric.get("name") or "1",
            text=text,
            syllabic=syllabic if syllabic in ("begin", "middle", "end") else "single",
            extend=extend is not None and extend.get("type") != "stop",
        )
    )
