"""A document without the marks that earlier runs have put into it."""

from __future__ import annotations

from pedalsetter.analysis.errors import PedalsetterError
from pedalsetter.analysis.reading.container import is_zip, score_member
from pedalsetter.analysis.reading.limits import DEFAULT_LIMITS, Limits, parse_xml
from pedalsetter.engrave.output.write_back.archive import with_member
from pedalsetter.engrave.output.write_back.excerpt import root_of
from pedalsetter.engrave.output.write_back.outline import bar_element, find_measures
from pedalsetter.engrave.output.write_back.own_marks import PREFIX, without_own_marks
from pedalsetter.engrave.output.write_back.transcoding import transcoded

__all__ = ["without_marks"]

_TRACES = (PREFIX.encode(), b"<?pedalsetter")


def without_marks(data: bytes, file: str, *, limits: Limits = DEFAULT_LIMITS) -> bytes:
    """The document as its user made it: every mark of ours is out, in all parts, to the byte.

    MusicXML, MXL and MEI. A document without such marks comes back as it is. Whoever wants the
    marks that a source carries of its own reads this.

    Raises:
        ScoreError: the document is broken or beyond the limits.
    """
    try:
        if is_zip(data):
            name, score = score_member(data, file, limits)
            cleared = _cleared(score, file, limits)
            return data if cleared == score else with_member(data, name, cleared, file)
        return _cleared(data, file, limits)
    except PedalsetterError as error:
        raise error.in_file(file) from error.__cause__


def _cleared(data: bytes, file: str, limits: Limits) -> bytes:
    if not any(trace in data.replace(b"\x00", b"") for trace in _TRACES):
        return data
    document = transcoded(data, file)
    # Checks nesting and entities; the text itself is read by position.
    parse_xml(data, file, limits, forgiving=True)
    text = document.text
    element = bar_element(root_of(text, file)[0].rpartition(":")[2])
    return document.restored(without_own_marks(text, find_measures(text, file, element=element)))
