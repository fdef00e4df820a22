"""Modules that run only when they are used."""

from __future__ import annotations

import importlib
import subprocess
import sys
from pathlib import Path

import pytest

from pedalsetter.engrave.output.late_imports import loaded_late


def test_a_module_runs_when_it_is_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An import within the block does nothing yet; the first look at a name does."""
    (tmp_path / "slow_module.py").write_text(
        "from pathlib import Path\nPath(__file__).with_suffix('.ran').touch()\nANSWER = 42\n"
    )
    monkeypatch.syspath_prepend(tmp_path)
    finders = list(sys.meta_path)
    with loaded_late("slow_module"):
        module = importlib.import_module("slow_module")
    assert sys.meta_path == finders
    assert not (tmp_path / "slow_module.ran").exists()
    assert module.ANSWER == 42
    assert (tmp_path / "slow_module.ran").exists()


@pytest.mark.engraving
def test_marking_a_part_does_not_load_the_tools_of_a_manual(tmp_path: Path) -> None:
    """The library abjad comes in without what makes its own manual."""
    score = Path(__file__).resolve().parents[3] / "examples" / "three-times-round.mxl"
    script = (
        "import sys; from pedalsetter.engrave.road import mark_score\n"
        f"mark_score({str(score)!r}, dpi=None)\n"
        "print('abjad' in sys.modules, any(name.startswith('sphinx') for name in sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert done.stdout.split() == ["True", "False"]
