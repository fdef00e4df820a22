"""The list of licences, tests/licences.md, made from what the installed packages say of themselves.

    python tests/licence_table.py

prints it for the packages of the lock file; what is installed on other machines only keeps the row
that it has.
"""

from __future__ import annotations

import re
import sys
from functools import cache
from importlib.metadata import PackageNotFoundError, distribution, metadata
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

__all__ = ["licence_of", "locked", "needed", "rows", "use_of"]

ROOT = Path(__file__).resolve().parents[1]

_SPDX = {
    "apache software license": "Apache-2.0",
    "apache license, version 2.0": "Apache-2.0",
    "apache 2.0": "Apache-2.0",
    "apache license": "Apache-2.0",
    "apache license 2.0": "Apache-2.0",
    "bsd": "BSD-3-Clause",
    "bsd license": "BSD-3-Clause",
    "3-clause bsd license": "BSD-3-Clause",
    "gnu general public license (gpl)": "GPL",
    "gnu general public license v2 or later (gplv2+)": "GPL-2.0-or-later",
    "gnu lesser general public license v3 (lgplv3)": "LGPL-3.0-only",
    "gnu lesser general public license v3 or later (lgplv3+)": "LGPL-3.0-or-later",
    "isc license (iscl)": "ISC",
    "mit license": "MIT",
    "the mit license (mit)": "MIT",
    "mit": "MIT",
    "mozilla public license 2.0 (mpl 2.0)": "MPL-2.0",
    "python software foundation license": "PSF-2.0",
    "zope public license": "ZPL-2.1",
}
"""Names that packages give, in small letters, and the identifier of the SPDX licence list."""


def locked() -> dict[str, list[Requirement]]:
    """The lock file's packages by name, each with its pinned versions."""
    found: dict[str, list[Requirement]] = {}
    for line in (ROOT / ".requirements-locked.txt").read_text(encoding="utf-8").splitlines():
        if line and not line.startswith(("#", " ")):
            pin = Requirement(line.removesuffix("\\"))
            found.setdefault(canonicalize_name(pin.name), []).append(pin)
    return found


def licence_of(name: str) -> str | None:
    """What an installed package says its licence is; None if it is not installed here.

    From ``License-Expression`` (core metadata 2.4), else its classifiers, else the first line of
    ``License`` or of the licence file.
    """
    try:
        said = metadata(name)
    except PackageNotFoundError:
        return None
    if expression := said.get("License-Expression"):
        return str(expression)
    classified = [
        classifier.rsplit(" :: ", 1)[-1]
        for classifier in said.get_all("Classifier") or ()
        if classifier.startswith("License :: ") and classifier != "License :: OSI Approved"
    ]
    words = classified or [(said.get("License") or _head_of_file(name)).splitlines()[0]]
    return " AND ".join(sorted({_SPDX.get(word.strip().lower(), word.strip()) for word in words}))


def _head_of_file(name: str) -> str:
    for file in distribution(name).files or ():
        if file.name.startswith("LICENSE"):
            return file.read_text(encoding="utf-8").strip()
    return "not said"


@cache
def needed(extra: str = "") -> frozenset[str]:
    """Every installed package that Pedalsetter needs, those that these need included.

    ``extra`` adds what one of its extras needs.
    """
    found: set[str] = set()
    waiting = [("pedalsetter", extra)]
    while waiting:
        package, wanted = waiting.pop()
        try:
            needs = distribution(package).requires or []
        except PackageNotFoundError:
            continue
        for need in map(Requirement, needs):
            name = canonicalize_name(need.name)
            for more in ("", *need.extras):
                applies = need.marker is None or need.marker.evaluate({"extra": wanted})
                if applies and (name not in found or more):
                    found.add(name)
                    waiting.append((name, more))
    return frozenset(found - {"pedalsetter"})


def rows() -> dict[str, tuple[str, str]]:
    """The rows that stand in the list: package to its licence and use."""
    found = re.findall(
        r"^\| ([\w.-]+) \| ([^|]+) \| (run|cluster|tests) \|$", _standing(), re.MULTILINE
    )
    return {name: (licence, use) for name, licence, use in found}


def _standing() -> str:
    return (ROOT / "tests" / "licences.md").read_text(encoding="utf-8")


def use_of(name: str) -> str:
    """What an installed package is for: ``run``, ``cluster`` or ``tests``."""
    return "run" if name in needed() else "cluster" if name in needed("cluster") else "tests"


def main() -> None:
    """Print the list."""
    standing = rows()
    head, table, _ = _standing().partition("| package | licence | for |\n| --- | --- | --- |\n")
    lines = [(head + table).rstrip("\n")]
    for name in sorted(locked()):
        licence, use = standing.get(name, ("?", "?"))
        said = licence_of(name)
        if said is not None:
            licence, use = said, use_of(name)
        lines.append(f"| {name} | {licence} | {use} |")
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
