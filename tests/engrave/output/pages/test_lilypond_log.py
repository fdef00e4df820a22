"""What LilyPond says: its warnings passed on, its first complaint told with its place."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.engrave.output.pages.engraver import engrave

pytestmark = pytest.mark.engraving


def test_a_warning_is_passed_on_without_paths() -> None:
    """LilyPond's warnings name the line of the source and nothing of this machine."""
    engraving = engrave("\\version \"2.24.0\"\n{\n  c'1 |\n  c'2 | % 2\n  c'1\n}\n")
    assert engraving.warnings == ("line 4: barcheck failed at: 1/2",)


def test_a_failure_names_line_bar_and_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first complaint, its line and its bar are told, and the log is kept to be read."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    source = "\\version \"2.24.0\"\n{\n  c'1 | % 11\n  c'4 \\nosuchthing d' | % 12\n}\n"
    with pytest.raises(EngravingError) as caught:
        engrave(source)
    (folder,) = tmp_path.iterdir()
    assert str(caught.value) == (
        "bar 12: LilyPond failed: unknown escaped string: `\\nosuchthing' "
        f"(line 4 of its source). Its log and source lie in {folder}."
    )
    assert "unknown escaped string" in (folder / "part.log").read_text("utf-8")
    assert (folder / "part.ly").read_text("utf-8") == source
