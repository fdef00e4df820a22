"""Which scores a catalogue holds: those of folders, patterns, lists and single files.

Every file comes once, in the order of its name, and no loop of links is walked for ever.
"""

from __future__ import annotations

import fnmatch
import os
import re
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath

from pedalsetter.analysis.errors import BatchError
from pedalsetter.analysis.reading.foreign_formats import FOREIGN

__all__ = ["SUFFIXES", "CatalogueScore", "find_scores", "passed_over"]

SUFFIXES = frozenset(
    {".musicxml", ".xml", ".mxl", ".mei", ".krn", ".kern", ".abc", ".mid", ".midi"}
)
"""What is taken for a score in a folder or under a pattern; a list may name any file."""

_MAGIC = re.compile(r"[*?[]")


@dataclass(frozen=True, slots=True)
class CatalogueScore:
    """One score of a catalogue, or one place that could not be looked into."""

    name: str
    """Its place in the catalogue, with ``/``: the path below the folder that was given."""
    path: Path
    """Absolute."""
    trouble: str | None = None
    """Why nothing could be found there; None for a score."""


@dataclass(frozen=True, slots=True)
class _Found:
    path: Path
    trouble: str | None = None


def find_scores(given: Sequence[str], out: Path) -> tuple[CatalogueScore, ...]:
    """The scores of folders, patterns (``**`` for any folders), lists and score files.

    A list is a text file with one of the others a line, relative to the list's own folder; empty
    lines and lines that begin with ``#`` are passed over. Hidden files, and all in ``out``, are
    left out of folders and patterns.

    Raises:
        BatchError: something given is not there, or leads to no score.
    """
    found: list[_Found] = []
    roots: list[Path] = []
    for argument in given:
        root, here = _given(argument, out)
        if os.path.realpath(root) == os.path.realpath(out) and not here:
            raise BatchError(
                f"the scores of {argument} lie in the output folder",
                mend="Choose another folder with -o.",
            )
        roots.append(root)
        found += here
    root = _common(roots)
    once: dict[str, CatalogueScore] = {}
    # A file that links lead to on several ways comes once, on the shortest.
    for item in sorted(found, key=lambda item: (len(item.path.parts), str(item.path))):
        score = CatalogueScore(_name(item.path, root), item.path, item.trouble)
        once.setdefault(os.path.realpath(item.path), score)
    return tuple(sorted(once.values(), key=lambda score: score.name))


def passed_over(given: Sequence[str], out: Path) -> Counter[str]:
    """How many files of each foreign format lie in the folders given: nobody marks them."""
    found: Counter[str] = Counter()
    for argument in given:
        root = _absolute(argument)
        if root.is_dir():
            found.update(
                each.path.suffix.lower() for each in _in_folder(root, out, suffixes=FOREIGN - _PDF)
            )
    return found


_PDF = {".pdf"}
"""Pages beside a score are no score that was forgotten."""


def _given(argument: str, out: Path) -> tuple[Path, list[_Found]]:
    path = _absolute(argument)
    if path.is_dir():
        found = list(_in_folder(path, out))
        if not found and os.path.realpath(path) != os.path.realpath(out):
            raise BatchError(f"the folder {argument} holds no score", mend=_SUFFIXES_TOLD)
        return path, found
    if path.is_file():
        if path.suffix.lower() in SUFFIXES:
            return path.parent, [_Found(path)]
        return path.parent, _in_list(path, argument, out)
    if _MAGIC.search(argument):
        root, found = _under_pattern(path, out)
        if not found and os.path.realpath(root) != os.path.realpath(out):
            raise BatchError(f"no score matches {argument}", mend=_SUFFIXES_TOLD)
        return root, found
    raise BatchError(
        f"there is no folder, list or score called {argument}",
        mend="A pattern holds *, ? or [ ], and stands in quotes.",
    )


_SUFFIXES_TOLD = f"Scores end in {', '.join(sorted(SUFFIXES))}."


def _in_folder(
    top: Path,
    out: Path,
    pattern: Sequence[str] = ("**", "*"),
    suffixes: Collection[str] = SUFFIXES,
) -> Iterator[_Found]:
    """Scores below ``top`` whose path below it matches ``pattern``, part by part."""
    deepest = None if "**" in pattern else len(pattern)
    out_of_bounds = os.path.realpath(out)
    seen: set[str] = set()

    def walk(folder: Path, parts: tuple[str, ...]) -> Iterator[_Found]:
        real = os.path.realpath(folder)
        if real in seen or real == out_of_bounds:
            return
        seen.add(real)
        try:
            with os.scandir(folder) as listing:
                entries = sorted(listing, key=lambda entry: entry.name)
        except OSError as error:
            yield _Found(folder, f"this folder cannot be looked into: {error.strerror or error}")
            return
        for entry in entries:
            if entry.name.startswith("."):
                continue
            here = (*parts, entry.name)
            if _is_folder(entry):
                if deepest is None or len(here) < deepest:
                    yield from walk(folder / entry.name, here)
            elif Path(entry.name).suffix.lower() in suffixes and _matches(here, pattern):
                yield _Found(folder / entry.name)

    yield from walk(top, ())


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False  # a link that leads to itself: its reader will say so


def _matches(parts: Sequence[str], pattern: Sequence[str]) -> bool:
    if not pattern:
        return not parts
    if pattern[0] == "**":
        return any(_matches(parts[skipped:], pattern[1:]) for skipped in range(len(parts) + 1))
    return (
        bool(parts)
        and fnmatch.fnmatchcase(parts[0], pattern[0])
        and _matches(parts[1:], pattern[1:])
    )


def _under_pattern(path: Path, out: Path) -> tuple[Path, list[_Found]]:
    fixed = next(place for place, part in enumerate(path.parts) if _MAGIC.search(part))
    root = Path(*path.parts[:fixed])
    # Several ** in a row say no more than one, and would take far longer.
    pattern = [
        part
        for place, part in enumerate(path.parts[fixed:], fixed)
        if part != "**" or path.parts[place - 1] != "**"
    ]
    if pattern[-1] == "**":
        pattern.append("*")
    return root, list(_in_folder(root, out, pattern)) if root.is_dir() else []


def _in_list(path: Path, argument: str, out: Path) -> list[_Found]:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise BatchError(f"{argument} cannot be read: {error.strerror or error}") from error
    if b"\0" in content:
        raise BatchError(f"{argument} is neither a score nor a list of scores", mend=_SUFFIXES_TOLD)
    # The bytes of a name need not be text.
    lines = content.removeprefix(b"\xef\xbb\xbf").decode("utf-8", "surrogateescape").splitlines()
    found: list[_Found] = []
    for line in map(str.strip, lines):
        if not line or line.startswith("#"):
            continue
        entry = _absolute(os.path.join(path.parent, line))  # noqa: PTH118 (an absolute line wins)
        if entry.is_dir():
            inside = list(_in_folder(entry, out))
            found += inside or [_Found(entry, "this folder holds no score")]
        elif not os.path.lexists(entry) and _MAGIC.search(line):
            inside = _under_pattern(entry, out)[1]
            found += inside or [_Found(entry, "no score matches this pattern")]
        else:
            found.append(_Found(entry))
    if not found:
        raise BatchError(f"the list {argument} names no score")
    return found


def _absolute(path: str) -> Path:
    return Path(os.path.abspath(path))  # noqa: PTH100 (links stay as they were given)


def _common(roots: Sequence[Path]) -> Path:
    try:
        return Path(os.path.commonpath(roots))
    except ValueError:
        return Path(roots[0].anchor)  # several drives


def _name(path: PurePath, root: PurePath) -> str:
    try:
        below: PurePath = type(path)(os.path.relpath(path, root))
    except ValueError:
        # Another drive: its letter, or the name of its machine, keeps two of one name apart.
        below = type(path)(re.sub(r"\W+", "-", path.drive).strip("-"), *path.parts[1:])
    return "/".join("up" if part == ".." else part for part in below.parts)
