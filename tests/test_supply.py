"""What is installed: pinned with hashes, as the project asks for it, under known licences."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import PackageNotFoundError, requires, version
from pathlib import Path

import pytest
from licence_table import licence_of, locked, rows, use_of
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[1]
LOCK = (ROOT / ".requirements-locked.txt").read_text(encoding="utf-8")
PYTHONS = ("3.11", "3.12", "3.13")


def project() -> dict[str, list[Requirement]]:
    """What pyproject.toml asks for: by extra, and under the empty name for every run."""
    data = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    named = {"": data["dependencies"], **data["optional-dependencies"]}
    return {extra: [Requirement(line) for line in lines] for extra, lines in named.items()}


def pinned(name: str, python: str) -> str | None:
    """The version that the lock file gives a package on Linux with this Python."""
    surroundings = {
        "python_version": python,
        "python_full_version": f"{python}.0",
        "sys_platform": "linux",
        "platform_machine": "x86_64",
        "platform_python_implementation": "CPython",
        "extra": "",
    }
    versions = [
        next(iter(pin.specifier)).version
        for pin in locked().get(canonicalize_name(name), [])
        if pin.marker is None or pin.marker.evaluate(surroundings)
    ]
    assert len(versions) <= 1, f"{name} is pinned twice for Python {python}"
    return versions[0] if versions else None


def is_as_pinned(name: str) -> bool:
    """Whether a package is installed here in a version of the lock file.

    Others are of another system or Python, or newer than the lock file; CI tests what is pinned.
    """
    try:
        installed = version(name)
    except PackageNotFoundError:
        return False
    return any(pin.specifier.contains(installed, prereleases=True) for pin in locked()[name])


@pytest.mark.parametrize("python", PYTHONS)
def test_the_lock_file_gives_what_the_project_asks_for(python: str) -> None:
    """Every requirement of pyproject.toml and its extras is pinned to a version that it allows."""
    for needs in project().values():
        for need in needs:
            if canonicalize_name(need.name) != "pedalsetter":
                pin = pinned(need.name, python)
                assert pin is not None, need
                assert need.specifier.contains(pin), need


def test_the_lock_file_is_whole() -> None:
    """What a pinned package itself needs is pinned too, to a version that it accepts."""
    for name in filter(is_as_pinned, locked()):
        for need in map(Requirement, requires(name) or []):
            if need.marker is None or need.marker.evaluate({"extra": ""}):
                assert canonicalize_name(need.name) in locked(), f"{name} needs {need}"


def test_every_pin_has_hashes_and_none_a_place() -> None:
    """SHA-256 for every file (pip's hash-checking mode), and nothing about where they lie."""
    pins = re.split(r"\n(?=[a-z0-9])", LOCK.partition("\nabjad")[2])

    assert len(pins) == sum(len(versions) for versions in locked().values())
    for pin in pins:
        assert re.search(r"--hash=sha256:[0-9a-f]{64}\b", pin), pin
    assert "://" not in LOCK
    assert not re.search(r"--(extra-)?index-url|--find-links|\(/", LOCK)


def test_every_licence_is_told() -> None:
    """The list names the licence of every pinned package as the package names it itself."""
    told = rows()

    assert sorted(told) == sorted(locked())
    for name in filter(is_as_pinned, told):
        assert told[name] == (licence_of(name), use_of(name)), name


def test_what_the_program_needs_may_be_used_with_it() -> None:
    """Each licence of what runs is free; those of the GPL are named where the reader will look.

    Source: the SPDX licence list; the identifiers below are those of free licences there.
    """
    free = re.compile(
        r"(?:0BSD|Apache-2\.0|BSD-[23]-Clause|CC0-1\.0|GPL(?:-[23]\.0-or-later)?|HPND|ISC|MIT"
        r"|MIT-CMU|MPL-2\.0|PSF-2\.0|Public Domain|Python-2\.0|ZPL-2\.1|Zlib|dependency licenses)"
    )
    copyleft = set()
    for name, (licence, use) in rows().items():
        if use == "run":
            parts = re.split(r" AND | OR |, ", licence)
            assert all(free.fullmatch(part.strip("() ")) for part in parts), (name, licence)
            if any(part.startswith("GPL") for part in parts) and "BSD" not in licence:
                copyleft.add(name)
    text = (ROOT / "README.md").read_text(encoding="utf-8").partition("\n## Licence\n")[2]

    assert copyleft == {"abjad", "lilypond", "unidecode"}
    assert "run as a program of its own" in text
    assert all(name in text.lower() for name in copyleft)
