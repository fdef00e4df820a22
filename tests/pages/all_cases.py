"""Every small score whose engraved page is counted."""

from __future__ import annotations

from pages import hidden_notes, knocks, slurs, small_notes, staves_and_rests, words_and_signs
from pages.case import Case

__all__ = ["CASES"]

CASES: dict[str, Case] = {
    **hidden_notes.CASES,
    **knocks.CASES,
    **slurs.CASES,
    **small_notes.CASES,
    **staves_and_rests.CASES,
    **words_and_signs.CASES,
}
