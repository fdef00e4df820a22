"""The one gate through which text from a score enters LilyPond source."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

__all__ = ["comment", "markup", "quoted"]

_WORD_JOINER = "\u2060"


def quoted(text: str) -> str:
    r"""Return ``text`` as a LilyPond string, quotation marks included, on one line.

    A backslash and a quotation mark are escaped; line breaks and tabs become blanks, every other
    control character is dropped, so nothing inside can end the string or start a command.
    ``%!`` would be taken for a tag by abjad's formatter, which then cuts the line: an invisible
    word joiner keeps the two signs apart.

    >>> print(quoted('dolce "quasi" \\eco'))
    "dolce \"quasi\" \\eco"
    """
    plain = []
    for sign in text:
        if sign in "\n\r\t\v\f\x85\u2028\u2029":
            plain.append(" ")
        elif unicodedata.category(sign) not in ("Cc", "Cs"):
            plain.append(sign)
    safe = "".join(plain).replace("%!", f"%{_WORD_JOINER}!")
    return '"' + safe.replace("\\", "\\\\").replace('"', '\\"') + '"'


def markup(text: str, commands: Iterable[str] = ()) -> str:
    r"""Return a markup of ``text`` without ``\markup``, several lines as a column.

    ``commands`` are LilyPond's own markup commands, outermost first, never text of a score.

    >>> print(markup("a tempo", [r"\italic"]))
    \italic "a tempo"
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()] or [""]
    body = quoted(lines[0])
    if len(lines) > 1:
        body = r"\column { " + " ".join(quoted(line) for line in lines) + " }"
    return " ".join([*commands, body])


def comment(text: str) -> str:
    """Return ``text`` fit for a LilyPond comment: letters, figures and a few signs only."""
    return "".join(sign for sign in text if sign.isalnum() or sign in " .,-–+()[]").strip()
