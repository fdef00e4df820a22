"""Every error that Pedalsetter raises, in one tree.

This module imports nothing of the project, so any module may use it. The facts of an error are
fields; its message is one line made from them, ready to be shown to a musician.
"""

from __future__ import annotations

from collections.abc import Callable

__all__ = [
    "BatchError",
    "DecisionsError",
    "EngravingError",
    "HouseStyleError",
    "LimitError",
    "OptionsError",
    "OutputError",
    "PartError",
    "PedalsetterError",
    "PlaceError",
    "ScoreError",
    "SettingError",
    "SeveralHarpsError",
]


class PedalsetterError(Exception):
    """Something that stops the road, told in one line.

    The line is ``file, bar N, beat N, staff: what is wrong. The mend.``; a fact that is not known
    is left out.
    """

    exit_code = 2

    def __init__(
        self,
        what: str,
        *,
        file: str | None = None,
        bar: str | None = None,
        beat: str | None = None,
        staff: str | None = None,
        mend: str | None = None,
    ) -> None:
        self.what = what
        self.file = file
        self.bar = bar
        self.beat = beat
        self.staff = staff
        self.mend = mend
        super().__init__(self._line())

    def _line(self) -> str:
        place = [
            part
            for part in (
                self.file,
                f"bar {self.bar}" if self.bar is not None else None,
                f"beat {self.beat}" if self.beat is not None else None,
                self.staff,
            )
            if part
        ]
        head = ", ".join(place)
        sentence = f"{head}: {self.what}" if head else self.what
        if self.mend:
            sentence = f"{sentence.rstrip('.')}. {self.mend}"
        line = " ".join(sentence.split())
        # Signs that steer a terminal, or turn the reading order, come from names of strangers.
        return "".join(sign if sign.isprintable() else "\ufffd" for sign in line)

    def in_words(self, spoken: Callable[[str], str]) -> PedalsetterError:
        """Return this error, with what would help said as ``spoken`` says it."""
        if self.mend is not None:
            self.mend = spoken(self.mend)
            self.args = (self._line(),)
        return self

    def in_file(self, file: str) -> PedalsetterError:
        """Return this error, naming ``file`` if no file was named yet."""
        if self.file is None:
            self.file = file
            self.args = (self._line(),)
        return self


class SettingError(PedalsetterError, ValueError):
    """A pedal setting, letter or position that cannot be understood or cannot exist."""


class ScoreError(PedalsetterError):
    """A score that cannot be read: unreadable, unsupported, broken or too large."""


class PartError(PedalsetterError):
    """A score in which the harp part cannot be told: none, several, or not the one asked for."""


class SeveralHarpsError(PartError):
    """A score with several harps, of which none was asked for."""

    def __init__(self, what: str, harps: tuple[tuple[str, str], ...], **place: str | None) -> None:
        super().__init__(what, **place)
        self.harps = harps
        """Each one's name, and what asks for it: ``3``, or ``4+5`` for two one-staff parts."""


class PlaceError(PedalsetterError):
    """A bar or beat that cannot be understood, or that the score does not have."""


class DecisionsError(PedalsetterError):
    """A file of decisions that cannot be understood."""


class HouseStyleError(PedalsetterError):
    """A house style that is missing or says something impossible."""


class OptionsError(PedalsetterError):
    """A file of the user's own defaults that cannot be read or understood."""


class LimitError(PedalsetterError):
    """A run that was stopped because it took longer, or more memory, than it was allowed."""


class EngravingError(PedalsetterError):
    """The engraver is missing, too old, or failed."""

    exit_code = 3


class OutputError(PedalsetterError):
    """A file that cannot be written, or that would overwrite the input."""


class BatchError(PedalsetterError):
    """A catalogue that cannot be begun or gone on with; single scores never raise it."""
