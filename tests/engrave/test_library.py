"""The public surface: small, told in the manual, and enough for what a composer asks."""

from __future__ import annotations

import inspect
import io
import re
from pathlib import Path

import pytest
from example_scores import THREE_TIMES_ROUND
from lxml import etree
from PIL import Image

from pedalsetter.engrave import library

ROOT = Path(__file__).resolve().parents[2]


def test_every_name_is_documented() -> None:
    """Each name is there and explains itself; functions are named in the manual."""
    manual = (ROOT / "README.md").read_text("utf-8").split("## As a library")[1].split("\n## ")[0]
    for name in library.__all__:
        value = getattr(library, name)
        if inspect.isfunction(value):
            assert f"`{name}`" in manual or f"`{name}(" in manual, name
        assert inspect.getdoc(value), name
    assert len(library.__all__) <= 45


def test_the_manual_names_nothing_that_is_not_there() -> None:
    """Functions that the manual promises exist."""
    manual = (ROOT / "README.md").read_text("utf-8").split("## As a library")[1].split("\n## ")[0]
    promised = re.findall(r"^\| .* \| (.*) \|$", manual, re.MULTILINE)
    named = {name for line in promised for name in re.findall(r"`(\w+)`", line)}

    assert named
    assert named <= set(library.__all__)


@pytest.mark.engraving
def test_the_code_in_the_manual_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The block of Python under "As a library" is run as it stands, beside a score of that name."""
    manual = (ROOT / "README.md").read_text("utf-8").split("## As a library")[1].split("\n## ")[0]
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
