"""All topics in the order of their numbers."""

from __future__ import annotations

from topics import (
    chords_and_tuplets,
    directions_and_signs,
    parts_and_form,
    pitches_and_rhythm,
    signatures,
    text_and_rest,
)
from topics.topic import Topic

__all__ = ["TOPICS"]

TOPICS: tuple[Topic, ...] = (
    *pitches_and_rhythm.TOPICS,
    *signatures.TOPICS,
    *chords_and_tuplets.TOPICS,
    *directions_and_signs.TOPICS,
    *parts_and_form.TOPICS,
    *text_and_rest.TOPICS,
)
