"""The same input gives the same bytes, wherever, whenever and by whomever it is run."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).resolve().with_name("output_digest.py")


def digests(folder: Path, **environment: str) -> dict[str, tuple[str, int]]:
    """Digest and length of every output of a process of its own."""
    ran = subprocess.run(
        [sys.executable, str(SCRIPT), str(folder)],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=True,
        timeout=300,
    )
    lines = [line.split(" ", 2) for line in ran.stdout.splitlines()[1:]]
    return {name: (digest, int(length)) for digest, length, name in lines}


@pytest.mark.engraving
def test_nothing_around_a_run_changes_a_byte(tmp_path: Path) -> None:
    """Two processes, another order of sets, folder, time zone, language and moment: one result.

    PDF keeps the moment of making to the second (ISO 32000-1, 7.9.4), and the two runs lie seconds
    apart.
    """
    here = tmp_path / "here"
    there = tmp_path / "a rather longer way" / "élan" / "there"
    one = digests(here, PYTHONHASHSEED="1", TZ="UTC", LC_ALL="C.UTF-8")
    two = digests(
        there,
        PYTHONHASHSEED="4242",
        TZ="Pacific/Auckland",
        LC_ALL="C",
        PYTHONUTF8="1",
        TMPDIR=str(tmp_path),
        HOME=str(tmp_path),
    )

    assert sorted(one) == sorted(two)
    assert [name for name in one if one[name] != two[name]] == []
    kinds = {name.rsplit(".", 1)[-1] for name in one}
    assert kinds >= {"pdf", "png", "svg", "json", "ly", "mxl", "html", "md"}
    assert all(length for name, (_, length) in one.items() if "," not in name)
