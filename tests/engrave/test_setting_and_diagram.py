"""The commands ``setting`` and ``diagram``: answers, pictures, and one line for a mistake."""

from __future__ import annotations

import io
import json
import re
import subprocess
from pathlib import Path

import pytest
from example_scores import EVENING_WATER
from lxml import etree
from PIL import Image
from typer.testing import CliRunner, Result

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.analysis.instrument.harp import LETTERS, Setting
from pedalsetter.engrave import command_line
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages import engraver
from pedalsetter.engrave.output.pictures.diagram import draw_diagram
from pedalsetter.engrave.output.pictures.picture import EngravedPicture

BLACK = 128


def run(*arguments: str | Path) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(command_line.app, [str(argument) for argument in arguments])


def test_the_setting_at_a_place_is_told_with_its_neighbours() -> None:
    """Bar 17 of Evening Water is in C major; the last pedal of the modulation moved in bar 15."""
    result = run("setting", EVENING_WATER.path, "--at", "17")

    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines()[1:] == [
        "bar 17, beat 1: D♮ C♮ B♮ | E♮ F♮ G♮ A♮",
        "Moves here: nothing",
        "Moved last: bar 15, beat 3: F♮ (right foot, from F♯)",
        "Moves next: bar 24, beat 2: A♭ (right foot, from A♮)",
    ]


def test_the_json_says_the_same() -> None:
    """Places and changes as in the plan's document."""
    plan = json.loads(run("plan", EVENING_WATER.path, "--json").stdout)
    told = json.loads(run("setting", EVENING_WATER.path, "--at", "17", "--json").stdout)

    assert told["setting"] == "D♮ C♮ B♮ | E♮ F♮ G♮ A♮"
    assert set(told["pedals"].values()) == {0}
    (last,) = told["moved_last"]
    (following,) = told["moves_next"]
    changes = [{key: one[key] for key in last} for one in plan["changes"]]
    assert changes.index(following) == changes.index(last) + 1


def test_a_bar_that_is_not_there_is_one_line() -> None:
    """A mistake of the user's is told in one line, with exit 2."""
    result = run("setting", EVENING_WATER.path, "--at", "99")

    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        "pedalsetter: evening-water.musicxml: there is no bar 99. Its bars go from 0 to 54.\n"
    )


def heights(png: bytes) -> list[str]:
    """Read a diagram from its pixels: for each of seven uprights, above, across or below the line.

    Knows nothing of the program that drew it: dark columns much taller than the line are uprights,
    the longest of them divides the feet.
    """
    picture = Image.open(io.BytesIO(png)).convert("L")
    pixels = picture.load()
    assert pixels is not None
    columns = [
        [y for y in range(picture.height) if pixels[x, y] < BLACK] for x in range(picture.width)
    ]
    thin = min(len(column) for column in columns if column)
    groups: list[list[int]] = []
    for x, column in enumerate(columns):
        if len(column) > 2 * thin:
            if groups and groups[-1][-1] == x - 1:
                groups[-1].append(x)
            else:
                groups.append([x])
    tops = [(columns[g[len(g) // 2]][0], columns[g[len(g) // 2]][-1]) for g in groups]
    lengths = [bottom - top for top, bottom in tops]
    divider = lengths.index(max(lengths))
    assert divider == 3, "three pedals of the left foot, then the divider, then four"
    line = picture.height / 2
    del tops[divider]
    marks = []
    for top, bottom in tops:
        middle = (top + bottom) / 2
        near = abs(middle - line) < picture.height / 10
        marks.append("n" if near else "b" if middle < line else "s")
    return marks


@pytest.mark.engraving
@pytest.mark.parametrize("pattern", ["bsn|ssnb", "sns|bsbn", "nnn|nnnn", "bbb|bbbb", "sss|ssss"])
def test_the_picture_shows_the_setting(pattern: str) -> None:
    """High is flat, across the line natural, low sharp; D C B left of the divider, E F G A right.

    Source: Uniarts Helsinki, harp notation guide, "Pedal diagrams".
    """
    picture = draw_diagram(Setting.read(pattern), load_house_style("final-part"))

    assert heights(picture.png(200)[0]) == list(pattern.replace("|", ""))


@pytest.mark.engraving
def test_svg_has_outlines_only_and_is_cropped(tmp_path: Path) -> None:
    """No font is asked for; the drawing fills its page; two runs give the same bytes."""
    for name in ("one.svg", "two.svg"):
        assert run("diagram", "D C# B E F# G# A", "-o", tmp_path / name).exit_code == 0
    one = (tmp_path / "one.svg").read_bytes()
    root = etree.fromstring(one)

    assert one == (tmp_path / "two.svg").read_bytes()
    assert not root.xpath("//*[local-name()='text' or local-name()='image']")
    # seven uprights, a line and a divider
    assert len(root.xpath("//*[local-name()='path']")) == 9
    width, height = (float(root.get(side).removesuffix("pt")) for side in ("width", "height"))
    assert 2.5 < width / height < 3.5


@pytest.mark.engraving
def test_rings_show_what_has_moved_and_do_not_change_the_size(tmp_path: Path) -> None:
    """From C major to A major three pedals are ringed; picture and page stay as they are."""
    setting, before = Setting.read("D C# B E F# G# A"), Setting.of_key(0)
    style = load_house_style("final-part")
    plain = draw_diagram(setting, style)
    ringed = draw_diagram(setting, style, before.letters_unlike(setting))
    drawn = [
        len(etree.fromstring(p.svg[0]).xpath("//*[local-name()='path']")) for p in (plain, ringed)
    ]

    assert drawn == [9, 9 + 3]
    sizes = {Image.open(io.BytesIO(p.png()[0])).size for p in (plain, ringed)}
    assert len(sizes) == 1


@pytest.mark.engraving
def test_the_source_can_be_engraved_by_itself(tmp_path: Path) -> None:
    """``-o x.ly`` gives a whole source: LilyPond alone makes the same picture of it."""
    for suffix in ("ly", "pdf"):
        assert run("diagram", "bsn|ssnb", "-o", tmp_path / f"x.{suffix}", "-q").exit_code == 0
    subprocess.run(
        [engraver.find_lilypond(), "-s", "-o", "again", "x.ly"],
        cwd=tmp_path,
        check=True,
        timeout=60,
    )
    boxes = [
        re.search(rb"/MediaBox \[ ?([\d. ]+?) ?\]", (tmp_path / name).read_bytes())
        for name in ("x.pdf", "again.pdf")
    ]
    assert boxes[0]
    assert boxes[1]
    sizes = [[round(float(side)) for side in box[1].split()] for box in boxes if box]
    assert all(abs(a - b) <= 1 for a, b in zip(*sizes, strict=True))


@pytest.mark.engraving
def test_a_larger_house_style_draws_larger() -> None:
    """The diagram has the size that it has on the page of its style."""
    setting = Setting.of_key(0)
    widths = [
        Image.open(io.BytesIO(draw_diagram(setting, load_house_style(name)).png()[0])).width
        for name in ("final-part", "large-print")
    ]
    # 22 points with two steps of size against 18 with one and a half: 1.295 by arithmetic
    assert abs(widths[1] / widths[0] - 22 / 18 * 2 ** (0.5 / 6)) < 0.03


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (
            ["D C B", "-o", "x.svg"],
            "a setting names all seven pedals, E, F, G, A missing in 'D C B'. "
            "Give D C B | E F G A, each with its sign.",
        ),
        (
            ["bsn|ssn", "-o", "x.svg"],
            "'bsn|ssn' is not seven of b, n and s in the order D C B E F G A",
        ),
        (
            ["nnn|nnnn", "-o", "x.gif"],
            "a picture cannot be saved as 'x.gif'. End its name in .png, .svg, .pdf or .ly.",
        ),
        (
            ["nnn|nnnn", "-o", "x"],
            "a picture cannot be saved as 'x'. End its name in .png, .svg, .pdf or .ly.",
        ),
        (
            ["nnn|nnnn", "-o", "x.svg", "--from", "H"],
            "'H' is no pedal position. Write a letter and its sign, as in C♯, Bb or F.",
        ),
    ],
)
def test_a_mistake_is_one_line(
    arguments: list[str], line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wrong setting, wrong suffix, wrong setting before: exit 2, one line, no file."""
    monkeypatch.chdir(tmp_path)
    result = run("diagram", *arguments)

    assert (result.exit_code, result.stderr) == (2, f"pedalsetter: {line}\n")
    assert not list(tmp_path.iterdir())


def test_all_seven_letters_have_their_place() -> None:
    """The short form and the names say the same of every letter."""
    by_name = Setting.read("Db C# B E# F# G Ab")

    assert by_name == Setting.read("bsn|ssnb") == Setting.read("bsnssnb")
    assert [letter.value for letter in LETTERS] == list("DCBEFGA")


def test_a_lilypond_without_cairo_draws_no_svg(tmp_path: Path) -> None:
    """PDF and PNG are there all the same; whoever wants SVG is told in one line."""
    pdf = b"%PDF-1.4"
    picture = EngravedPicture("source", pdf, ())

    assert picture.files(tmp_path / "x.pdf") == {"x.pdf": pdf}
    assert picture._repr_svg_() is None
    with pytest.raises(EngravingError) as told:
        picture.files(tmp_path / "x.svg")
    assert str(told.value) == (
        "this LilyPond was built without cairo and draws no SVG. Ask for PDF or PNG."
    )
