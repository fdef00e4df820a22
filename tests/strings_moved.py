"""Plans in which notes are played on their other strings, for tests of how that is shown."""

from __future__ import annotations

from dataclasses import replace

from pedalsetter.analysis.instrument.respelling import strings_for
from pedalsetter.analysis.pedal_plan import PedalPlan, StringUse

__all__ = ["on_other_strings"]


def on_other_strings(plan: PedalPlan, *notes: str) -> PedalPlan:
    """The plan with these notes, or all, on the string of another letter, if they have one.

    The pedals stay as they are: what is looked at is the page, and not whether it can be played.
    """
    strings = dict(plan.strings)
    for note, use in plan.strings.items():
        others = [one for one in strings_for(use.written) if one.letter is not use.written.letter]
        if others and (not notes or note in notes):
            strings[note] = StringUse(note, use.written, others[0])
    return replace(plan, strings=strings)
