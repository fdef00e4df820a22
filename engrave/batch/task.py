"""One score to be treated, and what is wanted of it: all that a desk needs to know."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

from pedalsetter.analysis.decisions.file import decisions_beside
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.errors import BatchError
from pedalsetter.engrave.road import PLAIN, Wanted

__all__ = ["Task", "Treatment"]

_MOST_BYTES = 1 << 30
"""Larger files are refused by every reader; nobody waits for their digest."""


@dataclass(frozen=True, slots=True)
class Treatment:
    """What is wanted of every score of a catalogue: the options of ``mark``."""

    part: str | None = None
    house_style: str = "final-part"
    """A name, or the absolute path of a file."""
    dpi: int | None = 150
    """Dots an inch of the PNG pages; None for none."""
    wanted: Wanted = PLAIN
    source_marks: SourceMarks = SourceMarks.REPLACE
    decisions: bool = True
    """Whether the musician's decisions beside each score are looked for."""
    respell: str | None = None
    allow: tuple[str, ...] = ()
    """What the feet may do besides, by name."""
    thorough: bool = False
    """Whether each plan is searched for as long as it could be better."""

    def as_data(self) -> dict[str, Any]:
        """Plain data for JSON; :meth:`from_data` reads it back."""
        marks, allow = self.source_marks.value, list(self.allow)
        return {**asdict(self), "source_marks": marks, "allow": allow}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Treatment:
        """Read plain data back."""
        wanted, marks = Wanted(**data["wanted"]), SourceMarks(data["source_marks"])
        allow = tuple(data["allow"])
        return cls(**{**data, "wanted": wanted, "source_marks": marks, "allow": allow})

    def described(self) -> dict[str, Any]:
        """What decides the bytes of the results, without any path of this machine."""
        described = {"program": version("pedalsetter"), **self.as_data()}
        style = Path(self.house_style)
        if style.is_file():
            content = hashlib.sha256(style.read_bytes()).hexdigest()
            described["house_style"] = f"{style.name} {content}"
        return described

    def digest(self) -> str:
        """A short name of :meth:`described`."""
        text = json.dumps(self.described(), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Task:
    """One score and where its results go."""

    score: str
    """Its place in the catalogue, with ``/``; what the record calls it."""
    path: str
    """The file, absolute."""
    out: str
    """The output folder, absolute."""
    folder: str
    """The folder of its results below ``out``, with ``/``."""
    treatment: Treatment
    digest: str
    """Of the treatment, taken once for the whole run."""
    seconds: int = 600
    """Time limit."""
    memory_bytes: int = 4 << 30
    """Memory limit of the process; the engraver has its own."""
    force: bool = False
    """Whether results that were edited since may make room for new ones."""

    def identity(self) -> str | None:
        """SHA-256 of the score file, and of the decisions beside it if there are any.

        None where the score cannot be read, or is no ordinary file.
        """
        score = _digest_of(Path(self.path))
        beside = decisions_beside(self.path) if self.treatment.decisions else None
        decided = _digest_of(beside) if beside is not None else None
        return f"{score}+{decided}" if score and decided else score

    def __post_init__(self) -> None:
        if not self.folder or any(part in ("", ".", "..") for part in self.folder.split("/")):
            raise BatchError(f"results cannot be put into a folder called {self.folder!r}")

    @property
    def target(self) -> Path:
        """The folder of the results."""
        return Path(self.out, *self.folder.split("/"))

    def as_json(self) -> str:
        """One line; :meth:`from_json` reads it back."""
        return json.dumps({**asdict(self), "treatment": self.treatment.as_data()})

    @classmethod
    def from_json(cls, line: str | bytes) -> Task:
        """Read one line back."""
        data = json.loads(line)
        return cls(**{**data, "treatment": Treatment.from_data(data["treatment"])})


def _digest_of(file: Path) -> str | None:
    try:
        if not file.is_file() or file.stat().st_size > _MOST_BYTES:
            return None
        with file.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except (OSError, ValueError):
        return None
