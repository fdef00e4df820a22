"""What is printed: data in UTF-8 whatever the locale, and words that every terminal can show."""

from __future__ import annotations

import codecs
import sys

__all__ = ["shown", "use_plain_signs", "write_data"]

_PLAIN = {
    "♭": "b",
    "♮": "nat.",
    "♯": "#",
    "–": "-",
    "−": "-",
    "…": "...",
    "→": "->",
    "½": "1/2",
    "’": "'",
    "\u202f": " ",
    "\u00a0": " ",
}
"""Signs of ours, and how they are written where a terminal lacks them."""


def use_plain_signs() -> None:
    """Let standard output and error spell out what their encoding cannot show."""
    codecs.register_error("pedalsetter", _spelled)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="pedalsetter")


def write_data(text: str) -> None:
    """Print what a program will read: UTF-8 bytes, and ends of lines as they are."""
    if getattr(sys.stdout, "buffer", None) is None:
        sys.stdout.write(text)
        return
    write_bytes(text.encode("utf-8", "surrogateescape"))


def write_bytes(content: bytes) -> None:
    """Print a file as it is."""
    sys.stdout.flush()
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()


def shown(text: str) -> str:
    """The text in signs that standard output can show, so that columns are measured right."""
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return "".join(_in(encoding, sign) for sign in text)
    return text


def _in(encoding: str, sign: str) -> str:
    try:
        sign.encode(encoding)
    except UnicodeEncodeError:
        return _PLAIN.get(sign, "?")
    return sign


def _spelled(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    bad = error.object[error.start : error.end]
    return "".join(_PLAIN.get(sign, "?") for sign in bad), error.end
