"""Text of a score can never become LilyPond's or Scheme's language."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from pedalsetter.engrave.notation.escaping import comment, markup, quoted

WHOLE_STRING = re.compile(r'"(?:[^"\\\x00-\x1f]|\\["\\])*"\Z')
"""One LilyPond string (Notation Reference, "Text markup introduction"): nothing but escaped
backslashes and quotation marks may stand inside."""


@given(st.text())
def test_quoted_is_one_string(text: str) -> None:
    """Whatever the text holds, it stays within one string on one line, without abjad's tags."""
    made = quoted(text)
    assert WHOLE_STRING.match(made)
    assert "%!" not in made


@given(st.text(alphabet=st.characters(exclude_categories=("C", "Z")), max_size=20))
def test_quoted_keeps_the_words(text: str) -> None:
    """Printable text comes out of the string as it went in."""
    inner = quoted(text)[1:-1].replace("\u2060", "")
    assert re.sub(r"\\(.)", r"\1", inner) == text.replace("\u2060", "")


def test_lines_become_a_column() -> None:
    """Several lines stand under each other."""
    assert markup("poco\na poco", [r"\italic"]) == r'\italic \column { "poco" "a poco" }'


@given(st.text())
def test_comments_hold_no_line_break(text: str) -> None:
    """A comment ends with its line, so it may not break it."""
    assert len(comment(text).splitlines()) <= 1
    assert not set(comment(text)) & set('%{}"\\#$')
