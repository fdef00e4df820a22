"""The public surface: small, told in the manual, and enough for what a composer asks."""

from __future__ import annotations

import inspect
import io
import re
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path

import pytest
from example_scores import THREE_TIMES_ROUND
from lxml import etree
from PIL import Image

from pedalsetter.engrave import library

GUIDE = Path(__file__).resolve().parents[2] / "examples" / "guide" / "library.md"


def test_every_name_is_documented() -> None:
    """Each name is there and explains itself; functions are named in the manual."""
    manual = GUIDE.read_text("utf-8")
    for name in library.__all__:
        value = getattr(library, name)
        if inspect.isfunction(value):
            assert f"`{name}`" in manual or f"`{name}(" in manual, name
        assert inspect.getdoc(value), name
    assert len(library.__all__) <= 48


def test_the_manual_names_nothing_that_is_not_there() -> None:
    """Functions that the manual promises exist."""
    manual = GUIDE.read_text("utf-8")
    promised = re.findall(r"^\| .* \| (.*) \|$", manual, re.MULTILINE)
    named = {name for line in promised for name in re.findall(r"`(\w+)`", line)}

    assert named
    assert named <= set(library.__all__)


@pytest.mark.engraving
def test_the_code_in_the_manual_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The block of Python under "As a library" is run as it stands, beside a score of that name."""
    manual = GUIDE.read_text("utf-8")
    (code,) = re.findall(r"```python\n(.*?)```", manual, re.DOTALL)
    (tmp_path / "sonata.mxl").write_bytes(THREE_TIMES_ROUND.path.read_bytes())
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    exec(compile(code, "manual", "exec"), names)  # noqa: S102 - our own manual

    assert isinstance(names["planned"], library.PlannedScore)
    assert (tmp_path / "chart.svg").is_file()


@pytest.mark.engraving
def test_results_show_themselves_in_a_notebook() -> None:
    """IPython asks a value for ``_repr_svg_`` and ``_repr_png_``; text is the last resort."""
    engraved = library.mark_score(THREE_TIMES_ROUND.path, dpi=None)
    diagram = library.draw_diagram(library.Setting.of_key(0))
    notes = library.read_pitch_set("Cdim7")
    glissandi = library.draw_glissandi(notes, library.glissando_settings(notes.pitch_classes).best)

    for picture in (diagram, glissandi):
        assert etree.QName(etree.fromstring(picture._repr_svg_().encode())).localname == "svg"
        assert Image.open(io.BytesIO(picture._repr_png_())).format == "PNG"
    page = Image.open(io.BytesIO(engraved._repr_png_()))
    assert page.height > page.width


def test_a_part_that_was_altered_is_planned_again() -> None:
    """What if every C♯ were D♭? The road from a part onwards gives plan, findings and marks."""
    before = library.plan_score(THREE_TIMES_ROUND.path)
    bars = {bar.number for bar in before.part.bars}
    altered = library.respelled_bars(before.part, bars, library.Spelling.FLATS)
    after = library.plan_part(altered)
    told = library.compare_plans((before.part, before.plan), (after.part, after.plan))

    assert told.changes == (len(before.plan.changes), len(after.plan.changes))
    assert library.plan_part(before.part).plan == before.plan
    assert library.plan_part(before.part).markings == before.markings


def test_a_part_is_named_by_its_number_and_errors_speak_of_arguments() -> None:
    """The number may be a number; what would help is said as a program would say it."""
    planned = library.plan_score(THREE_TIMES_ROUND.path, part=1)

    assert planned.part == library.plan_score(THREE_TIMES_ROUND.path).part
    with pytest.raises(library.PedalsetterError) as caught:
        library.plan_score(THREE_TIMES_ROUND.path, part=9)
    assert "--" not in str(caught.value)
    assert "part=" in str(caught.value)
    assert library.__version__ == version("pedalsetter")


def test_values_tell_themselves_briefly_and_a_plan_shows_itself() -> None:
    """In a line; and in a notebook as a table in which texts of the score are data."""
    planned = library.plan_score(THREE_TIMES_ROUND.path)
    told = replace(planned, part=replace(planned.part, part_name="<b>Harp</b>"))
    table = told._repr_html_()

    for value in (planned, planned.part, planned.plan, library.draw_chart(planned)):
        assert len(repr(value)) < 200
    assert planned.verdict in table
    assert table.count("<tr>") == 1 + len(planned.plan.changes)
    assert "<b>" not in table
    etree.fromstring(f"<div>{table}</div>")


@pytest.mark.engraving
def test_everything_that_is_drawn_can_be_saved(tmp_path: Path) -> None:
    """The form is that of the suffix; a file that is not ours is never replaced unasked."""
    planned = library.plan_score(THREE_TIMES_ROUND.path)
    engraved = library.mark_score(
        THREE_TIMES_ROUND.path,
        wanted=library.Wanted(flags=True),
        source_marks=library.SourceMarks.KEEP,
    )
    diagram = library.draw_diagram(library.Setting.of_key(3))
    for value, names in (
        (library.draw_chart(planned), ("c.svg", "c.png", "c.pdf")),
        (diagram, ("d.svg", "d.png", "d.pdf", "d.ly")),
        (engraved, ("e.pdf", "e.png", "e.ly", "e.json")),
    ):
        for name in names:
            written = value.save(tmp_path / name)
            assert all(path.stat().st_size > 100 for path in written)
    (tmp_path / "mine.svg").write_text("my own")
    with pytest.raises(library.PedalsetterError, match="was not made by Pedalsetter"):
        diagram.save(tmp_path / "mine.svg")
