"""Text of a score is data: it is printed, and never becomes a command of anything.

Each trick stands in every field that reaches the page. A canary (a file that the trick would write)
tells whether anything was carried out; that the canary works is tried first.
"""

from __future__ import annotations

import json
import re
import subprocess
import unicodedata
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from xml.sax.saxutils import escape

import pypdfium2
import pytest
from lxml import etree, html
from score_snippets import bars, direction, measure, note, opening, score, words
from typer.testing import CliRunner

from pedalsetter.analysis.errors import PedalsetterError
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.command_line import app
from pedalsetter.engrave.output.chart.chart import draw_chart
from pedalsetter.engrave.output.pages.engraver import engrave, find_lilypond
from pedalsetter.engrave.output.results import EngravedScore
from pedalsetter.engrave.road import Wanted, mark_score, plan_score

CODE = '(call-with-output-file "CANARY" (lambda (port) (display 1 port)))'
"""Scheme that writes the canary; CANARY gives way to its path."""

TRICKS: tuple[str, ...] = (
    f'" #{CODE} "',
    f'\\" #{CODE} \\"',
    f'\\\\" #{CODE} \\\\"',
    f"#{CODE}",
    f"${CODE}",
    f"#@(list {CODE})",
    f"}} #{CODE} {{",
    f'" }} >> #{CODE} << {{ "',
    f"#{{ #{CODE} #}}",
    f"%{{ %}} #{CODE}",
    f"%! #{CODE}",
    f"-\\markup {{ \\with-url #{CODE} x }}",
    '\\include "/etc/passwd"',
    "\\column { \\bold \\score { c' } }",
    "\\version \\language \\paper ##f ##t #'sym",
    '`touch "CANARY"` $(touch "CANARY") ; touch "CANARY" | touch "CANARY"',
    "first\u2028second\u2029third\u0085fourth\tfifth",
    "\u202eright to left\u202c שלום مرحبا",
    "\U0001f3b5 \U0001f469\u200d\U0001f3a4 \u200b\u2060\ufeff",
    "<script>alert('x')</script><img src=x onerror=alert(1)>",
    "</title></style>--> ]]> &amp; &#60;b&#62; ' onload='x",
    "[/] [bold red]x[/bold red] [link=http://example.org]y[/link] :bomb:",
    "=1+1 @SUM(A1) +2 -3",
    ") show (%%EOF /JS (app.alert\\(1\\))",
    "%s %n {0} {part.title} ${HOME} %PATH%",
    "../../../../etc/passwd \\\\server\\share C:\\evil",
)


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of one score full of tricks."""

    path: Path
    canary: Path
    result: EngravedScore
    shown: str
    """The text of the PDF, in plain letters without blanks."""


def filled(trick: str, canary: Path) -> str:
    """The trick with the canary's path in it."""
    return trick.replace("CANARY", str(canary))


def score_of(canary: Path) -> bytes:
    """One bar a trick, the trick in every field of it; each head of the page holds several."""
    texts = [filled(trick, canary) for trick in TRICKS]
    xml = [escape(text, {'"': "&quot;"}) for text in texts]
    content = ""
    for index, text in enumerate(xml):
        content += measure(
            (opening() if not index else "")
            + words(text)
            + words(f"Allegro {text}", 'font-weight="bold"', after='<sound tempo="96"/>')
            + direction(f"<rehearsal>{text}</rehearsal>")
            + direction(f"<dynamics><other-dynamics>{text}</other-dynamics></dynamics>")
            + direction(
                f"<metronome><beat-unit>quarter</beat-unit><per-minute>96 {text}</per-minute>"
                "</metronome>"
            )
            + note(
                "C4",
                2,
                notations=f"<technical><fingering>{text}</fingering>"
                f"<other-technical>{text}</other-technical></technical>"
                f"<dynamics><other-dynamics>{text}</other-dynamics></dynamics>"
                f'<glissando type="start" number="1">{text}</glissando>',
            ).replace("</note>", f"<lyric><text>{text}</text></lyric></note>")
            + note("C5", 2, notations='<glissando type="stop" number="1"/>')
            + f'<barline location="right"><bar-style>light-light</bar-style>'
            f'<ending number="1" type="start" text="{text}">{text}</ending></barline>',
            f"{index + 1}{text}",
            f'text="{index + 1} {text}"',
        )
    heads = [" ".join(xml[place::8]) for place in range(8)]
    return score(
        content,
        name=heads[0],
        header=f"<work><work-number>{heads[1]}</work-number><work-title>{heads[1]}</work-title>"
        f"</work><movement-title>{heads[2]}</movement-title><identification>"
        f'<creator type="composer">{heads[3]}</creator>'
        f'<creator type="lyricist">{heads[4]}</creator>'
        f'<creator type="arranger">{heads[5]}</creator><rights>{heads[6]}</rights></identification>'
        f'<credit page="1"><credit-type>subtitle</credit-type><credit-words>{heads[7]}'
        "</credit-words></credit>",
    )


def letters(text: str) -> str:
    """Plain letters, figures and signs, as a PDF gives them back: no blanks, no ligatures."""
    plain = unicodedata.normalize("NFKC", text)
    return "".join(sign for sign in plain if "!" <= sign <= "~")


@pytest.fixture(scope="module")
def tried(tmp_path_factory: pytest.TempPathFactory) -> Tried:
    """The score engraved with the real LilyPond, every trick once in the head of a page."""
    folder = tmp_path_factory.mktemp("tricks")
    canary = folder / "canary"
    path = folder / "tricks.musicxml"
    path.write_bytes(score_of(canary))
    result = mark_score(path, "1", dpi=None, wanted=Wanted(critical_report=True))
    document = pypdfium2.PdfDocument(result.pdf)
    shown = "".join(page.get_textpage().get_text_range() for page in document)
    return Tried(path, canary, result, letters(shown))


@pytest.mark.engraving
def test_the_canary_works(tmp_path: Path) -> None:
    """As code and not as text, the very same words do write the file."""
    canary = tmp_path / "canary"
    code = filled(CODE, canary)
    engrave(f'\\version "2.24.0"\n#{code}\n\\score {{ {{ c\'1 }} }}\n')
    assert canary.exists()


@pytest.mark.engraving
def test_nothing_is_carried_out(tried: Tried) -> None:
    """No canary, and LilyPond has nothing to complain of."""
    assert not tried.canary.exists()
    assert not [each for each in tried.result.engraver_warnings if "error" in each]
    assert tried.result.pages == ()
    assert not list(tried.path.parent.glob("canary*"))


@pytest.mark.engraving
def test_the_texts_are_shown(tried: Tried) -> None:
    """What is code elsewhere stands on the page, sign for sign."""
    for trick in TRICKS:
        # Lyrics and words are shown in full; a line break may stand in them.
        text = letters(filled(trick, tried.canary))
        # From right to left a PDF may give the letters in the order of the eye.
        assert text[:24] in tried.shown or text[:11][::-1] in tried.shown, trick
    part = tried.result.planned.part
    for head in (part.title, part.composer, part.lyricist, part.arranger):
        assert letters(head)[:24] in tried.shown, head


@pytest.mark.engraving
def test_the_source_is_closed_text(tried: Tried) -> None:
    """In the LilyPond source every trick stands inside strings; outside there is none of it."""
    outside = []
    inside = False
    source = tried.result.source
    index = 0
    while index < len(source):
        sign = source[index]
        if inside and sign == "\\":
            index += 1
        elif sign == '"':
            inside = not inside
        elif not inside and sign == "%":
            index = source.index("\n", index)
        elif not inside:
            outside.append(sign)
        index += 1
    assert not inside
    code = "".join(outside)
    for word in ("call-with-output-file", "passwd", "touch", "script>", "alert"):
        assert word not in code
    assert str(tried.canary) in source


@pytest.mark.engraving
def test_reports_and_charts_hold_no_foreign_markup(tried: Tried) -> None:
    """The critical report, and the chart as SVG, have the elements of ours and no other."""
    planned = tried.result.planned
    assert tried.result.critical_report is not None
    markdown, page = tried.result.critical_report
    elements = {str(each.tag) for each in html.fromstring(page).iter("*")}
    assert not elements & {"script", "b", "link", "iframe", "object"}
    assert not _Handlers.of(page)
    assert not re.search(r"(?<!\\)<[a-z/]", markdown)
    for drawing in draw_chart(planned).files(Path("chart.svg"), 150).values():
        root = etree.fromstring(drawing)
        names = {etree.QName(each).localname for each in root.iter("*")}
        assert not names & {"script", "foreignObject", "image", "a", "style"}
        assert not [name for each in root.iter("*") for name in each.attrib if name[:2] == "on"]


class _Handlers(HTMLParser):
    """Gathers attributes that would run a script."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, _tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [name for name, _ in attrs if name.startswith("on")]

    @classmethod
    def of(cls, page: str) -> list[str]:
        """The attributes of a page."""
        parser = cls()
        parser.feed(page)
        return parser.found


@pytest.mark.parametrize("command", ["plan", "check"])
def test_the_terminal_shows_them_too(command: str, tmp_path: Path) -> None:
    """Square brackets are no style, and no line is lost to them."""
    path = tmp_path / "tricks.musicxml"
    path.write_bytes(score_of(tmp_path / "canary"))
    result = CliRunner().invoke(app, [command, str(path), "--part", "1", "--no-mends"])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code in (0, 1)
    assert not (tmp_path / "canary").exists()
    plan = CliRunner().invoke(app, ["plan", str(path), "--part", "1", "--json"])
    assert json.loads(plan.stdout)["score"]["title"]


NAMES = (
    "$(touch canary).musicxml",
    "; touch canary #.musicxml",
    "-rf.musicxml",
    "--help.musicxml",
    'a "quoted" \\name.musicxml',
    "#(system 'touch').musicxml",
    "%{ comment.musicxml",
    "[bold] [red].musicxml",
    "line\nbreak.musicxml",
    "\u202eesrever\U0001f3b5.musicxml",
    "\x01\x1b[2Jcontrol.musicxml",
    "..musicxml",
    "no suffix",
    "a" * 200 + ".musicxml",
)


@pytest.mark.engraving
def test_file_names_are_data(tmp_path: Path) -> None:
    """Files of any name are read, marked and written beside each other; nothing else appears."""
    source = tmp_path / "in"
    source.mkdir()
    for number, name in enumerate(NAMES):
        path = source / name
        # No title: what stands on the page then must not come from the name unescaped.
        path.write_bytes(score(bars(note("C4", 4)), name="Harp"))
        planned = plan_score(path)
        assert planned.part.source.file == name
        drawn = draw_chart(planned).files(Path("chart.svg"), 150)
        assert all(etree.fromstring(each) is not None for each in drawn.values())
        out = tmp_path / f"out{number}"
        if number in (0, 4, 8, 11):
            options = ["mark", "-o", str(out), "--no-png", "--write-back", "--", str(path)]
            result = CliRunner().invoke(app, options)
            assert result.exit_code == 0, result.output
            stem = name.removesuffix(".musicxml") or "score"
            assert sorted(each.name for each in out.iterdir()) == sorted(
                f"{stem}{end}" for end in (".ly", ".pdf", ".plan.json", "-pedals.musicxml")
            )
        else:
            result = CliRunner().invoke(app, ["plan", "--", str(path)])
            assert result.exit_code == 0, result.output
    assert sorted(each.name for each in source.iterdir()) == sorted(NAMES)
    assert not list(tmp_path.rglob("canary"))


def test_a_wrong_name_is_told_in_one_line(tmp_path: Path) -> None:
    """Even where the name holds line breaks and control characters."""
    result = CliRunner().invoke(app, ["plan", str(tmp_path / "no\nsuch\x1b[2Jfile")])
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert "\x1b" not in result.stderr
    assert "\x1b" not in str(PedalsetterError("a\x1b[2Jb\u202ec", file="d\x07e"))


@pytest.mark.engraving
def test_lilypond_runs_in_a_folder_of_its_own(tmp_path: Path) -> None:
    """What a source writes by a relative path lies in that folder, which goes with the run."""
    before = sorted(Path.cwd().iterdir())
    code = CODE.replace("CANARY", "left-behind")
    engrave(f'\\version "2.24.0"\n#{code}\n\\score {{ {{ c\'1 }} }}\n')
    assert sorted(Path.cwd().iterdir()) == before
    assert subprocess.run([find_lilypond(), "--version"], capture_output=True, check=True).stdout


def test_tricks_survive_the_reading_unchanged(tmp_path: Path) -> None:
    """Reading keeps every sign of a text, so that what is escaped later is the whole of it."""
    part = read_score(score_of(tmp_path / "canary"), "tricks.musicxml", "1")
    shown = {each.text for each in part.directions}
    for trick in TRICKS[:16]:
        assert filled(trick, tmp_path / "canary") in shown
    assert plan_changes(part).movements
