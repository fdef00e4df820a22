"""A document in any encoding as UTF-8, and back to the very same bytes."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

from pedalsetter.analysis.errors import ScoreError

__all__ = ["Transcoded", "transcoded"]

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)

_DECLARED = re.compile(rb"""<\?xml\s[^>]*?encoding\s*=\s*["']([A-Za-z][\w.-]*)["']""")


@dataclass(frozen=True, slots=True)
class Transcoded:
    """A document whose text is UTF-8, with what is needed to go back."""

    head: bytes
    """Byte-order mark, or white space before the XML declaration."""
    text: bytes
    """The rest in UTF-8; the declaration still names the old encoding."""
    encoding: str
    """Python's name of the document's encoding."""

    def restored(self, text: bytes) -> bytes:
        """``text`` in the document's own encoding.

        A sign that the encoding cannot hold (♯ in Latin-1) becomes a character reference.
        """
        if self.encoding == "utf-8":
            return self.head + text
        return self.head + text.decode("utf-8").encode(self.encoding, "xmlcharrefreplace")


def transcoded(data: bytes, file: str) -> Transcoded:
    """Bring a well-formed XML document to UTF-8.

    Sources: XML 1.0, appendix F, on telling the encoding by the first bytes.

    Raises:
        ScoreError: its encoding is unknown, or is not restored to the same bytes.
    """
    head, encoding = b"", None
    for mark, name in _MARKS:
        if data.startswith(mark):
            head, encoding = mark, name
            break
    else:
        # Some programs leave a line break before the XML declaration.
        body = data.lstrip(b" \t\r\n")
        head = data[: len(data) - len(body)]
        if body.startswith(b"<\x00"):
            encoding = "utf-16-le"
        elif body.startswith(b"\x00<"):
            encoding = "utf-16-be"
        else:
            declared = _DECLARED.match(body)
            encoding = declared[1].decode("ascii") if declared else "utf-8"
    body = data[len(head) :]
    try:
        encoding = codecs.lookup(encoding).name
        if encoding == "utf-8":
            return Transcoded(head, body, encoding)
        text = body.decode(encoding)
        faithful = text.encode(encoding) == body
    except (LookupError, UnicodeError) as error:
        raise _unfaithful(encoding, file) from error
    if not faithful:
        raise _unfaithful(encoding, file)
    return Transcoded(head, text.encode("utf-8"), encoding)


def _unfaithful(encoding: str, file: str) -> ScoreError:
    return ScoreError(
        f"its encoding, {encoding}, cannot be written back unchanged",
        file=file,
        mend="Export the score in UTF-8.",
    )
