"""``<notations>``: ties, slurs, ornaments and all other signs that belong to a note."""

from __future__ import annotations

import re
from collections.abc import Mapping

from lxml import etree

from pedalsetter.analysis.part import Arpeggio, Ornament, SpannerEnd, Tremolo
from pedalsetter.analysis.reading.draft import EventDraft, HeadDraft, TupletStart
from pedalsetter.analysis.reading.figures import whole
from pedalsetter.analysis.reading.note_values import LOG
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["dynamics_of", "number_of", "read_notations"]

_ORNAMENTS = frozenset(
    re.findall(
        r"\S+",
        """
        trill-mark turn delayed-turn inverted-turn delayed-inverted-turn vertical-turn
        inverted-vertical-turn shake mordent inverted-mordent schleifer haydn
        """,
    )
)

_ALTER_OF_SIGN: Mapping[str, int] = {
    "sharp": 1,
    "natural": 0,
    "flat": -1,
    "double-sharp": 2,
    "sharp-sharp": 2,
    "flat-flat": -2,
    "double-flat": -2,
    "natural-sharp": 1,
    "natural-flat": -1,
}

_FERMATA: Mapping[str, str] = {
    "": "normal",
    "normal": "normal",
    "angled": "angled",
    "square": "square",
    "double-angled": "angled",
    "double-square": "square",
    "double-dot": "normal",
    "half-curve": "normal",
    "curlew": "normal",
}


def read_notations(
    notations: etree._Element, event: EventDraft, head: HeadDraft | None, notices: Notices
) -> None:
    """Add every sign of a ``<notations>`` to the event, or to the head if it has one of its own.

    An arpeggio's number is kept where the source gives one; without it the sign belongs to its
    staff alone (the staff's number stands in), since the format then says nothing of a sign that
    joins two staves.
    """
    if notations.get("print-object") == "no":
        notices.add("signs that the source hides were left out")
        return
    for sign in notations:
        tag = str(sign.tag)
        if tag == "tied":
            _read_tied(sign, head)
        elif tag == "slur":
            _add_spanner(sign, "slur", event.spanners, notices)
        elif tag in ("glissando", "slide"):
            spanners = event.spanners if head is None else head.spanners
            _add_spanner(sign, tag, spanners, notices)
        elif tag == "tuplet":
            _read_tuplet(sign, event)
        elif tag == "ornaments":
            _read_ornaments(sign, event, notices)
        elif tag == "technical":
            _read_technical(sign, event, head, notices)
        elif tag == "articulations":
            _read_articulations(sign, event, notices)
        elif tag == "dynamics":
            event.dynamics.extend(dynamics_of(sign))
        elif tag == "fermata":
            shape = (sign.text or "").strip()
            if shape not in ("", "normal", "angled", "square"):
                notices.add(f"a fermata of the shape '{shape}' is shown in a plainer shape")
            place = "below" if sign.get("type") == "inverted" else "above"
            event.fermatas.append((_FERMATA.get(shape, "normal"), place))
        elif tag == "arpeggiate":
            kind = {"up": "up", "down": "down"}.get(sign.get("direction", ""), "plain")
            event.arpeggio = Arpeggio(kind, number_of(sign, event.staff))
        elif tag == "non-arpeggiate":
            event.arpeggio = Arpeggio("bracket", number_of(sign, event.staff))
        elif tag == "accidental-mark":
            _add_accidental(sign, event, notices)
        elif tag == "other-notation":
            notices.add("a sign of no standard kind was left out")
        elif tag not in ("footnote", "level"):
            notices.add(f"the sign '{tag}' was left out")


def number_of(element: etree._Element, default: int = 1) -> int:
    """The ``number`` attribute, which pairs starts with stops."""
    return whole(element.get("number"), default)


def dynamics_of(element: etree._Element) -> list[str]:
    """The dynamics inside a ``<dynamics>``, as printed: ``mf``, ``sfz``, ``sub. p`` …"""
    found = []
    for child in element:
        if child.tag == "other-dynamics":
            text = " ".join((child.text or "").split())
            if text:
                found.append(text)
        else:
            found.append(str(child.tag))
    return found


def _read_tied(sign: etree._Element, head: HeadDraft | None) -> None:
    if head is None:
        return
    kind = sign.get("type")
    if kind == "start":
        head.tie_start = True
    elif kind == "stop":
        head.tie_stop = True
    elif kind == "continue":
        head.tie_start = head.tie_stop = True
    elif kind == "let-ring":
        head.let_ring = True


def _placement(sign: etree._Element) -> str | None:
    placement = sign.get("placement")
    if placement in ("above", "below"):
        return placement
    return {"over": "above", "under": "below"}.get(sign.get("orientation", ""))


def _add_spanner(
    sign: etree._Element, kind: str, spanners: list[SpannerEnd], notices: Notices
) -> None:
    end = sign.get("type")
    if end not in ("start", "stop"):
        if end != "continue":
            notices.add(f"a {kind} without beginning or end was left out")
        return
    line = sign.get("line-type", "")
    if line not in ("solid", "dashed", "dotted", "wavy"):
        # MusicXML: a glissando is wavy unless it says otherwise, a slide solid.
        line = "wavy" if kind == "glissando" else "solid"
    text = " ".join((sign.text or "").split())
    spanners.append(SpannerEnd(kind, number_of(sign), end == "start", _placement(sign), line, text))


def _read_tuplet(sign: etree._Element, event: EventDraft) -> None:
    number = number_of(sign)
    # Some programs repeat the bracket on every note of a chord.
    if sign.get("type") == "stop":
        if number not in event.tuplet_stops:
            event.tuplet_stops.append(number)
        return
    if any(start.number == number for start in event.tuplet_starts):
        return
    actual, actual_unit = _tuplet_portion(sign.find("tuplet-actual"))
    normal, normal_unit = _tuplet_portion(sign.find("tuplet-normal"))
    if actual and normal and actual_unit and normal_unit and actual_unit != normal_unit:
        # Three eighths in the time of one quarter are three in the time of two.

        shift = LOG[actual_unit] - LOG[normal_unit]
        if shift > 0:
            normal <<= shift
        elif normal % (1 << -shift) == 0:
            normal >>= -shift
        else:
            actual <<= -shift
    bracket = {"yes": True, "no": False}.get(sign.get("bracket", ""))
    show = sign.get("show-number", "actual")
    event.tuplet_starts.append(
        TupletStart(
            number=number,
            actual=actual,
            normal=normal,
            bracket=bracket,
            show_number=show if show in ("actual", "both", "none") else "actual",
            placement=_placement(sign),
        )
    )


def _tuplet_portion(portion: etree._Element | None) -> tuple[int | None, str | None]:

    if portion is None:
        return None, None
    count = whole(portion.findtext("tuplet-number"), 0, least=0)
    unit = (portion.findtext("tuplet-type") or "").strip()
    return (count if count > 0 else None), (unit if unit in LOG else None)


def _read_ornaments(ornaments: etree._Element, event: EventDraft, notices: Notices) -> None:
    for sign in ornaments:
        tag = str(sign.tag)
        if tag in _ORNAMENTS:
            event.ornaments.append(Ornament(tag, placement=_placement(sign)))
        elif tag == "accidental-mark":
            _add_accidental(sign, event, notices)
        elif tag == "wavy-line":
            _add_spanner(sign, "wavy-line", event.spanners, notices)
        elif tag == "tremolo":
            kind = sign.get("type", "single")
            if kind not in ("single", "start", "stop", "unmeasured"):
                kind = "single"
            usual = 0 if kind == "unmeasured" else 3
            event.tremolo = Tremolo(kind, whole(sign.text, usual, least=0, most=8))
        else:
            text = " ".join((sign.text or "").split()) or tag
            notices.add(f"the ornament '{text}' was left out")


def _add_accidental(sign: etree._Element, event: EventDraft, notices: Notices) -> None:
    alter = _ALTER_OF_SIGN.get((sign.text or "").strip())
    if alter is None or not event.ornaments:
        notices.add("an accidental beside an ornament could not be understood")
        return
    last = event.ornaments[-1]
    above, below = last.above, last.below
    if sign.get("placement") == "below":
        below = alter
    else:
        above = alter
    event.ornaments[-1] = Ornament(last.kind, above, below, last.placement)


def _read_technical(
    technical: etree._Element, event: EventDraft, head: HeadDraft | None, notices: Notices
) -> None:
    for sign in technical:
        tag = str(sign.tag)
        text = " ".join((sign.text or "").split())
        if tag == "fingering":
            if head is not None and text:
                head.fingerings.append(text)
        elif tag == "harmonic":
            if sign.get("print-object") != "no":
                event.harmonic = True
                event.harmonic_printed_at_sound = sign.find("sounding-pitch") is not None
        elif tag == "other-technical":
            event.technical.append((tag, text or sign.get("smufl", "")))
        elif tag in ("hammer-on", "pull-off", "bend", "fret", "string", "hole", "harmon-mute"):
            notices.add(f"the playing sign '{tag}' was left out")
        else:
            event.technical.append((tag, text))


def _read_articulations(articulations: etree._Element, event: EventDraft, notices: Notices) -> None:
    for sign in articulations:
        tag = str(sign.tag)
        if tag == "other-articulation":
            text = " ".join((sign.text or "").split()) or sign.get("smufl", "")
            notices.add(f"the articulation '{text}' was left out")
        elif not any(known == tag for known, _ in event.articulations):
            event.articulations.append((tag, _placement(sign)))
