"""Programs that stand in for LilyPond, and the shortest source."""

from __future__ import annotations

import stat
import sys
from pathlib import Path

__all__ = ["ONE_NOTE", "program"]

ONE_NOTE = '\\version "2.24.0"\n\\header { tagline = ##f }\n{ c\'1 }\n'


def program(folder: Path, name: str, answer: str, body: str = "") -> Path:
    """A small program that says ``answer`` to --version and else runs ``body`` in Python."""
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_text(
        f"#!{sys.executable}\nimport sys\n"
        f"if '--version' in sys.argv:\n    print({answer!r})\n    sys.exit(0)\n{body}\n",
        "utf-8",
    )
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path
