"""How one score of a catalogue ended: the same facts in the journal, the folder and the summary."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields, replace
from enum import Enum
from typing import Any

from pedalsetter.analysis.errors import ScoreError

__all__ = ["Ended", "Outcome", "Record"]


class Outcome(Enum):
    """How the work on a score ended."""

    DONE = "done"
    """Its results are in its folder."""
    FAILED = "failed"
    """It ended with one of our errors."""
    LOST = "lost"
    """The process broke down or was killed, or the results could not be written."""
    OUT_OF_TIME = "out of time"
    """It was stopped at the time limit."""


@dataclass(frozen=True, slots=True)
class Record:
    """What is told of one score: the same in every run, so without any time."""

    score: str
    """The score's place in the catalogue, with ``/`` on every system."""
    outcome: Outcome
    exit_code: int
    """What ``mark --strict`` would have ended with; 3 too where the process broke down."""
    folder: str | None = None
    """The folder of its results below the output folder; None if there are none."""
    identity: str | None = None
    """Digest of the score file and the decisions beside it; None where it could not be read."""
    treatment: str | None = None
    """Digest of what was wanted of the score."""
    what: str | None = None
    """One line that says what is wrong."""
    title: str | None = None
    bars: int = 0
    notes: int = 0
    changes: int = 0
    diagrams: int = 0
    findings: int = 0
    """Findings other than remarks: the three that follow."""
    unplayable: int = 0
    risky: int = 0
    uncomfortable: int = 0
    notices: int = 0
    """Notices of what was read only in part."""
    read_in_part: tuple[str, ...] = ()
    """The same in words: a line for each kind, with its bars."""
    pages: int = 0
    files: Mapping[str, str] = field(default_factory=dict)
    """SHA-256 of every result by its name."""

    @property
    def final(self) -> bool:
        """Whether a resumed run leaves the score alone: another try would end the same."""
        return self.outcome is Outcome.DONE or (
            self.outcome is Outcome.FAILED and self.exit_code == ScoreError.exit_code
        )

    def as_data(self) -> dict[str, Any]:
        """Plain data for JSON; :meth:`from_data` reads it back."""
        return {**asdict(self), "outcome": self.outcome.value, "files": dict(self.files)}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Record:
        """Read plain data back; keys of a later version are passed over.

        Raises:
            ValueError: it is no record.
        """
        known = {item.name for item in fields(cls)}
        try:
            kept = {key: value for key, value in data.items() if key in known}
            told = tuple(kept.get("read_in_part", ()))
            record = cls(**{**kept, "outcome": Outcome(kept["outcome"]), "read_in_part": told})
        except (AttributeError, KeyError, TypeError) as error:
            raise ValueError("this is no record of a score") from error
        if not isinstance(record.score, str) or not isinstance(record.exit_code, int):
            raise ValueError("this is no record of a score")
        return record

    def as_json(self) -> str:
        """The record as it lies in the folder of its results."""
        # Names of files may hold bytes that are no text; only ASCII can carry them.
        return json.dumps(self.as_data(), indent=2) + "\n"


@dataclass(frozen=True, slots=True)
class Ended:
    """A record with what this run can tell of the work besides; it differs from run to run."""

    record: Record
    seconds: float = 0.0
    """By the clock."""
    processor_seconds: float = 0.0
    """Of all processors, LilyPond included; 0 where the system does not tell."""
    peak_bytes: int = 0
    """The most memory that one of its processes held; 0 where the system does not tell."""
    detail: str | None = None
    """What the process said last before it broke down."""

    def as_data(self) -> dict[str, Any]:
        """Plain data: the record's, and these."""
        return {
            **self.record.as_data(),
            "seconds": round(self.seconds, 3),
            "processor_seconds": round(self.processor_seconds, 3),
            "peak_bytes": self.peak_bytes,
            "detail": self.detail,
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Ended:
        """Read plain data back.

        Raises:
            ValueError: it is no record.
        """
        try:
            return cls(
                Record.from_data(data),
                float(data.get("seconds", 0)),
                float(data.get("processor_seconds", 0)),
                int(data.get("peak_bytes", 0)),
                data.get("detail"),
            )
        except (AttributeError, TypeError) as error:
            raise ValueError("this is no record of a score") from error

    def measured(self, seconds: float, processor_seconds: float, peak_bytes: int) -> Ended:
        """This with what was measured from outside."""
        return replace(
            self, seconds=seconds, processor_seconds=processor_seconds, peak_bytes=peak_bytes
        )
