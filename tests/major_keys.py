"""The fifteen major keys by name, and the setting of each."""

from __future__ import annotations

from pedalsetter.analysis.instrument.harp import Setting

MAJOR_KEYS = ("C♭", "G♭", "D♭", "A♭", "E♭", "B♭", "F", "C", "G", "D", "A", "E", "B", "F♯", "C♯")
"""From seven flats to seven sharps."""


def setting_of(major_key: str) -> Setting:
    """The setting of a major key by its name."""
    return Setting.of_key(MAJOR_KEYS.index(major_key) - 7)
