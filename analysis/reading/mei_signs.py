"""What MEI holds for the harp that gets lost on the way through MusicXML: diagrams and speeds.

Source: MEI Guidelines, ``harpPedal``: attributes ``a`` to ``g`` take ``f``, ``n`` or ``s``, and a
missing one reads as ``n``; ``f="f"`` is F flat. ``tempo`` may name its figure in ``mm``.
"""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from pedalsetter.analysis.reading.figures import decimal, whole

__all__ = ["add_mei_signs"]

_MEI = "{http://www.music-encoding.org/ns/mei}"
_MEASURE = f"{_MEI}measure"
_XML_ID = "{http://www.w3.org/XML/1998/namespace}id"
_ALTER = {"f": -1, "n": 0, "s": 1}


def add_mei_signs(mei: etree._Element, score: etree._Element) -> None:
    """Put every ``harpPedal`` and every figure of a ``tempo`` into the MusicXML made of the file.

    Bars of both files follow each other alike; a sign stands at its ``tstamp`` or before the note
    that its ``startid`` names.
    """
    notes = {note.get("id"): note for note in score.iter("note") if note.get("id")}
    unit = Fraction(4)
    index = -1
    for element in mei.iter(f"{_MEI}scoreDef", f"{_MEI}staffDef", f"{_MEI}meterSig", _MEASURE):
        if element.tag != _MEASURE:
            # The lower figure in force; the whole file is walked in its order.
            unit = _number(element.get("meter.unit") or element.get("unit")) or unit
            continue
        index += 1
        # What an editor adds is wrapped.
        for child in (*element, *element.iterfind(f"{_MEI}supplied/{_MEI}harpPedal")):
            if child.tag == f"{_MEI}harpPedal":
                _place(_diagram(child), child, index, unit, score, notes)
            elif child.tag == f"{_MEI}tempo":
                sound = _sound(child)
                if sound is not None:
                    _place(sound, child, index, unit, score, notes)


def _diagram(pedal: etree._Element) -> etree._Element:
    direction = etree.Element("direction")
    place = pedal.get("place")
    if place in ("above", "below"):
        direction.set("placement", place)
    kind = etree.SubElement(direction, "direction-type")
    diagram = etree.SubElement(kind, "harp-pedals")
    for letter in "DCBEFGA":
        tuning = etree.SubElement(diagram, "pedal-tuning")
        etree.SubElement(tuning, "pedal-step").text = letter
        alter = _ALTER.get(pedal.get(letter.lower(), "n"), 0)
        etree.SubElement(tuning, "pedal-alter").text = str(alter)
    return direction


def _sound(tempo: etree._Element) -> etree._Element | None:
    """A direction that only sounds: MEI's words are printed already."""
    speed = _number(tempo.get("mm"))
    unit = _number(tempo.get("mm.unit", "4"))
    bpm = _number(tempo.get("midi.bpm"))
    if speed > 0 and unit > 0:
        factor = Fraction(2) - Fraction(1, 2 ** whole(tempo.get("mm.dots"), 0, least=0, most=3))
        bpm = speed * 4 / unit * factor
    if bpm <= 0:
        return None
    direction = etree.Element("direction")
    etree.SubElement(direction, "sound").set("tempo", str(bpm))
    return direction


def _place(
    direction: etree._Element,
    sign: etree._Element,
    index: int,
    unit: Fraction,
    score: etree._Element,
    notes: dict[str | None, etree._Element],
) -> None:
    first_staff = ((sign.get("staff") or "").split() or ["1"])[0]
    staff = whole(first_staff, 1, least=1)
    anchor = notes.get((sign.get("startid") or "#").lstrip("#"))
    identity = sign.get(_XML_ID)
    if identity is not None:
        direction.set("id", identity)
    measure, staff = _measure_of(score, index, staff)
    if anchor is not None:
        while anchor.find("chord") is not None:
            before = anchor.getprevious()
            if before is None:
                break
            anchor = before
        if anchor.findtext("staff") is not None:
            etree.SubElement(direction, "staff").text = anchor.findtext("staff")
        anchor.addprevious(direction)
        return
    if measure is None:
        return
    offset = (_number(sign.get("tstamp", "1")) - 1) * 4 / unit
    moved = etree.Element("offset", sound="yes")
    moved.text = str(max(offset, Fraction(0)) * _divisions(score, measure))
    sound = direction.find("sound")
    if sound is not None:
        sound.addprevious(moved)
    else:
        direction.append(moved)
        etree.SubElement(direction, "staff").text = str(staff)
    attributes = measure.find("attributes")
    if attributes is not None:
        attributes.addnext(direction)
    else:
        measure.insert(0, direction)


def _measure_of(score: etree._Element, index: int, staff: int) -> tuple[etree._Element | None, int]:
    """The measure of the part that has MEI's n-th staff, and the staff's number within it."""
    measure: etree._Element | None = None
    for part in score.iterfind("part"):
        count = max(
            (whole(each.text, 1) for each in part.iter("staves")),
            default=1,
        )
        measures = part.findall("measure")
        measure = measures[index] if index < len(measures) else None
        if staff <= count:
            return measure, staff
        staff -= count
    return measure, 1


def _divisions(score: etree._Element, measure: etree._Element) -> Fraction:
    # music21 writes one number of divisions for the whole score.
    text = measure.findtext("attributes/divisions") or next(
        (each.text for each in score.iter("divisions")), "1"
    )
    return _number(text) or Fraction(1)


def _number(text: str | None) -> Fraction:
    return decimal(text) or Fraction(0)
