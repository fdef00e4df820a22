"""A collation as document, as table of commas, and on a terminal."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from fractions import Fraction

import pytest
from marked_parts import diagram, letters, with_marks
from part_builder import build_part

from pedalsetter.analysis.collation import Collation, collate
from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.part import DoubtfulWords, HarpPart, Place
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.output.reports.collation_report import (
    collation_csv,
    collation_document,
    collation_json,
    print_collation,
)


def collated() -> tuple[HarpPart, PedalPlan, Collation]:
    """Two changes, one of them marked, and words in doubt."""
    part = build_part("C4/h C#4/h", "F4/h F#4/h")
    part = with_marks(
        part,
        [
            diagram("d", Place(0, Fraction(0)), Setting.of_key(0), part),
            letters("c", Place(0, Fraction(2)), [(Letter.C, Position.SHARP)], part),
        ],
    )
    doubt = DoubtfulWords("w", 1, Fraction(5), 1, "Es", "Too few such words stand in the part.")
    part = replace(part, source_language="English", doubtful_words=(doubt,))
    plan = plan_changes(part)
    return part, plan, collate(part, plan)


def test_the_document_says_everything_once() -> None:
    """Versioned plain data, places as printed and exact."""
    part, plan, collation = collated()
    document = collation_document(part, plan, collation)
    assert json.loads(collation_json(part, plan, collation)) == document
    assert (document["format"], document["version"]) == ("pedalsetter collation", 1)
    assert (document["marked"], document["wrong"], document["language"]) == (True, True, "English")
    (entry,) = document["entries"]
    assert {key: entry[key] for key in ("bar", "beat", "kind", "severity", "stands", "should")} == {
        "bar": "2",
        "beat": "3",
        "kind": "missing change",
        "severity": "wrong",
        "stands": "",
        "should": "F♯",
    }
    assert document["doubtful"][0]["text"] == "Es"
    assert document["counts"] == {"missing change": 1}


def test_csv_has_one_line_an_entry() -> None:
    """Readable by any table program; the sentence's comma is quoted."""
    part, _, collation = collated()
    rows = list(csv.DictReader(io.StringIO(collation_csv(part, collation))))
    assert [(row["bar"], row["beat"], row["should"]) for row in rows] == [("2", "3", "F♯")]
    assert rows[0]["why"] == "F♯4 needs F♯, and the marks leave the pedal at F♮."


def test_the_entries_on_a_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """The verdict, then each entry by its severity; what is doubtful below."""
    part, plan, collation = collated()
    print_collation(part, collation, plan)
    told = capsys.readouterr().out
    assert "The source has 1 diagram and 1 letter in English; entries: 1 wrong." in told
    assert told.splitlines()[1] == "1 fault is in the marks: bar 2."
    assert "  bar 2, beat 3, missing change: F♯ is to be added. F♯4 needs F♯" in told
    assert "Doubtful, bar 2, beat 2: 'Es'. Too few such words stand in the part." in told


def test_a_source_without_marks_is_said_so(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing to compare."""
    part = build_part("C4/w")
    plan = plan_changes(part)
    print_collation(part, collate(part, plan), plan)
    assert "The score has no pedal marks." in capsys.readouterr().out
