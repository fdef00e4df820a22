"""Notices by kind, in the summary, the plan document and the record of a batch."""

from __future__ import annotations

import json
from dataclasses import replace

from small_parts import line, small_part

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import Notice
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.batch.record import Outcome, Record
from pedalsetter.engrave.output.reports.notices_told import notice_lines, part_told
from pedalsetter.engrave.output.reports.plan_document import plan_json

READ = Notice(
    "a slur is odd (and 2 more like it, in bars 4 and 5)",
    bar="2",
    beat="1",
    kind="a slur is odd",
    bars=("2", "4", "5"),
    times=3,
)
ENGRAVED = (Notice("a slur is odd", bar="7"), Notice("no tempo"), Notice("a slur is odd", bar="7"))
PART = replace(small_part(line("C5/1")), warnings=(READ,))


def test_each_kind_is_told_once_with_its_bars() -> None:
    """Whether it was found while reading or while engraving."""
    assert notice_lines((READ, *ENGRAVED)) == ("bars 2, 4, 5 and 7: a slur is odd", "no tempo")
    assert notice_lines([Notice("odd", bar="9")]) == ("bar 9: odd",)
    many = [Notice("odd", bar=str(number)) for number in range(20)]
    assert notice_lines(many)[0].endswith("10, 11 and others: odd")


def test_the_plan_document_has_them_by_kind() -> None:
    """What `mark` engraved only in part stands beside what was read so."""
    plan = plan_changes(PART)
    marks = place_marks(PART, plan)
    document = json.loads(plan_json(PART, plan, marks, (READ, *ENGRAVED)))
    assert document["notices_by_kind"] == [
        {"what": "a slur is odd", "bars": ["2", "4", "5", "7"], "times": 5},
        {"what": "no tempo", "bars": [], "times": 1},
    ]
    assert len(document["notices"]) == 4
    assert json.loads(plan_json(PART, plan, marks))["notices"] == [str(READ)]


def test_which_part_was_read() -> None:
    """Said where the score has others."""

    def told(number: int, parts: int, joined: tuple[int, ...] = ()) -> str:
        source = replace(PART.source, part_number=number, parts=parts, joined=joined)
        return part_told(replace(PART, source=source, part_name="Harfe"))

    assert told(1, 1) == ""
    assert told(6, 11) == "Part 6 of 11: Harfe."
    assert told(3, 5, (3, 4)) == "Parts 3 and 4 of 5: Harfe."
    assert told(1, 2, (1, 2)) == ""


def test_a_record_keeps_them() -> None:
    """Written as JSON and read back."""
    record = Record("a.mxl", Outcome.DONE, 0, notices=2, read_in_part=("bar 2: odd", "no tempo"))
    assert Record.from_data(json.loads(record.as_json())) == record
