"""Which LilyPond is taken, and what is told where there is none."""

from __future__ import annotations

from pathlib import Path

import pytest
from stand_in_lilypond import program

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.engrave.output.pages import lilypond_program
from pedalsetter.engrave.output.pages.lilypond_program import find_lilypond, lilypond_version

pytestmark = pytest.mark.engraving

MEND = (
    "Install LilyPond 2.24 or newer (Debian and Ubuntu: apt install lilypond; Homebrew: brew "
    "install lilypond; others: lilypond.org), or set PEDALSETTER_LILYPOND to the path of its "
    "program."
)


@pytest.fixture
def no_wheel(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine for which there is no LilyPond wheel."""
    monkeypatch.setattr(lilypond_program, "_wheel_program", lambda: None)


def test_the_variable_comes_first(tmp_path: Path) -> None:
    """PEDALSETTER_LILYPOND wins over the wheel and over the PATH."""
    named = program(tmp_path / "named", "lily", "GNU LilyPond 2.25.12 (running Guile 2.2)")
    program(tmp_path / "path", "lilypond", "GNU LilyPond 2.24.1")
    found = find_lilypond({"PEDALSETTER_LILYPOND": str(named), "PATH": str(tmp_path / "path")})
    assert found == str(named)
    assert lilypond_version(found) == (2, 25, 12)


def test_the_wheel_comes_before_the_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The engraver that was installed with Pedalsetter is the one that it was tried with."""
    wheel = program(tmp_path / "wheel", "lilypond", "GNU LilyPond 2.24.3 (running Guile 2.2)")
    program(tmp_path / "path", "lilypond", "GNU LilyPond 2.26.0")
    monkeypatch.setattr(lilypond_program, "_wheel_program", lambda: str(wheel))
    assert find_lilypond({"PATH": str(tmp_path / "path")}) == str(wheel)


@pytest.mark.usefixtures("no_wheel")
def test_the_path_serves_where_there_is_no_wheel(tmp_path: Path) -> None:
    """A LilyPond of the system, 2.24 or newer, is taken."""
    path = program(tmp_path / "path", "lilypond", "GNU LilyPond 2.24.0")
    assert find_lilypond({"PATH": str(path.parent)}) == str(path)


@pytest.mark.usefixtures("no_wheel")
def test_a_missing_engraver_is_told_with_the_mend(tmp_path: Path) -> None:
    """Without any LilyPond the message says how to get one."""
    with pytest.raises(EngravingError) as caught:
        find_lilypond({"PATH": str(tmp_path)})
    assert str(caught.value) == f"LilyPond, which engraves the page, was not found. {MEND}"
    assert caught.value.exit_code == 3


@pytest.mark.usefixtures("no_wheel")
@pytest.mark.parametrize("version", ["2.22.2", "2.18", "1.99.0"])
def test_an_old_engraver_is_refused(tmp_path: Path, version: str) -> None:
    """Before 2.24 the stylesheet is not understood."""
    path = program(tmp_path / "path", "lilypond", f"GNU LilyPond {version}")
    with pytest.raises(EngravingError) as caught:
        find_lilypond({"PATH": str(path.parent)})
    assert str(caught.value) == f"LilyPond {version} is too old: {path}. {MEND}"


def test_a_variable_that_leads_nowhere_is_told(tmp_path: Path) -> None:
    """A wrong PEDALSETTER_LILYPOND is never passed over silently."""
    with pytest.raises(EngravingError) as caught:
        find_lilypond({"PEDALSETTER_LILYPOND": "/nowhere/lilypond", "PATH": str(tmp_path)})
    assert str(caught.value) == (
        "PEDALSETTER_LILYPOND leads to no program: /nowhere/lilypond. "
        "Set it to the path of the LilyPond program, or unset it."
    )


def test_another_program_is_not_taken_for_lilypond(tmp_path: Path) -> None:
    """A program that does not say that it is LilyPond is refused."""
    path = program(tmp_path / "named", "lily", "TeX 3.14159")
    with pytest.raises(EngravingError) as caught:
        find_lilypond({"PEDALSETTER_LILYPOND": str(path)})
    assert str(caught.value) == f"this program is not LilyPond: {path}. {MEND}"
