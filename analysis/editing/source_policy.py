"""What becomes of the pedal marks that a score has of its own."""

from __future__ import annotations

from enum import Enum

__all__ = ["SourceMarks"]


class SourceMarks(Enum):
    """The three ways of an edition.

    In a part that is not pedalled all three come to the same: the planned marks.
    """

    KEEP = "keep"
    """They stand as they are, and nothing is added to them."""
    COMPLETE = "complete"
    """They stand, and what is missing is added in brackets."""
    REPLACE = "replace"
    """They give way to the planned marks."""
