"""The journal: whole lines, torn lines, and the run that it belongs to."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedalsetter.analysis.errors import BatchError, OutputError
from pedalsetter.engrave.batch.journal import JOURNAL, Journal
from pedalsetter.engrave.batch.record import Ended, Outcome, Record
from pedalsetter.engrave.batch.summary import exit_code, summary_csv
from pedalsetter.engrave.batch.task import Task, Treatment

PLAIN = Treatment()

RECORDS = st.builds(
    Record,
    score=st.text(st.characters(exclude_categories=())),
    outcome=st.sampled_from(Outcome),
    exit_code=st.integers(0, 3),
    folder=st.none() | st.text(),
    what=st.none() | st.text(st.characters(exclude_categories=())),
    title=st.none() | st.text(),
    bars=st.integers(0),
    files=st.dictionaries(st.text(), st.text()),
)


def test_the_first_line_says_what_was_wanted(tmp_path: Path) -> None:
    """Format, version and options come first; each score is one line."""
    journal = Journal(tmp_path, PLAIN, resume=False)
    journal.write(Ended(Record("x.xml", Outcome.DONE, 0), seconds=1.5))
    journal.close()
    lines = [json.loads(line) for line in (tmp_path / JOURNAL).read_text("ascii").splitlines()]

    assert (lines[0]["format"], lines[0]["version"]) == ("pedalsetter journal", 1)
    assert lines[0]["treatment"]["dpi"] == 150
    assert (lines[1]["score"], lines[1]["outcome"], lines[1]["seconds"]) == ("x.xml", "done", 1.5)


@given(RECORDS, st.floats(0, 1e6), st.integers(0))
def test_a_record_comes_back_as_it_was(record: Record, seconds: float, peak: int) -> None:
    """Any name that a disk can hold, bytes that are no text included, survives the JSON form."""
    ended = Ended(record, round(seconds, 3), 0.0, peak)

    assert Ended.from_data(json.loads(json.dumps(ended.as_data()))) == ended
    assert Record.from_data(json.loads(record.as_json())) == record


def test_cut_off_anywhere_it_can_be_gone_on_with(tmp_path: Path) -> None:
    """Killed after any byte, scores whose lines are whole are known, and new lines are whole."""
    journal = Journal(tmp_path, PLAIN, resume=False)
    for number in range(3):
        journal.write(Ended(Record(f"{number}.xml", Outcome.DONE, 0)))
    journal.close()
    content = (tmp_path / JOURNAL).read_bytes()
    ends = [place + 1 for place, byte in enumerate(content) if byte == 10]
    moments = {*range(0, len(content) + 1, 61), *ends, *(end - 1 for end in ends)}
    for length in sorted(moments):
        (tmp_path / JOURNAL).write_bytes(content[:length])
        again = Journal(tmp_path, PLAIN, resume=True)
        known = max(0, sum(1 for end in ends if end <= length) - 1)

        assert len(again.records) == known
        again.write(Ended(Record("new.xml", Outcome.DONE, 0)))
        again.close()
        lines = (tmp_path / JOURNAL).read_bytes().splitlines()
        assert [json.loads(line)["score"] for line in lines[1:]] == [
            *(f"{number}.xml" for number in range(known)),
            "new.xml",
        ]


def test_a_damaged_line_is_passed_over(tmp_path: Path) -> None:
    """A failing disk may leave zeros where a line was; the other lines still count."""
    journal = Journal(tmp_path, PLAIN, resume=False)
    journal.write(Ended(Record("a.xml", Outcome.DONE, 0)))
    journal.close()
    with (tmp_path / JOURNAL).open("ab") as stream:
        stream.write(b"\0\0\0\n[1]\n{}\n" + b'{"score": "b.xml", "outcome": "eaten"}\n')
    again = Journal(tmp_path, PLAIN, resume=True)
    again.close()

    assert list(again.records) == ["a.xml"]


def test_the_last_line_of_a_score_counts(tmp_path: Path) -> None:
    """A score that was lost and then done is done."""
    journal = Journal(tmp_path, PLAIN, resume=False)
    journal.write(Ended(Record("a.xml", Outcome.LOST, 3)))
    journal.write(Ended(Record("a.xml", Outcome.DONE, 0)))
    journal.close()
    again = Journal(tmp_path, PLAIN, resume=True)
    again.close()

    assert again.records["a.xml"].outcome is Outcome.DONE


def test_another_file_of_that_name_is_kept(tmp_path: Path) -> None:
    """What is no journal of ours is neither read nor written."""
    (tmp_path / JOURNAL).write_text('{"format": "diary"}\n')

    with pytest.raises(BatchError, match="is no journal that this version can go on with"):
        Journal(tmp_path, PLAIN, resume=True)
    assert (tmp_path / JOURNAL).read_text() == '{"format": "diary"}\n'


def test_a_journal_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """One line, with the reason of the system."""
    (tmp_path / JOURNAL).mkdir()

    with pytest.raises(OutputError, match=r"journal\.jsonl cannot be written: Is a directory"):
        Journal(tmp_path, PLAIN, resume=True)


def test_a_house_style_counts_by_what_it_says(tmp_path: Path) -> None:
    """The same file elsewhere is the same treatment; the same name with other words is not."""
    for folder, text in (("a", "x = 1"), ("b", "x = 1"), ("c", "x = 2")):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "own.toml").write_text(text)
    one, same, other = (
        Treatment(house_style=str(tmp_path / folder / "own.toml")).digest() for folder in "abc"
    )

    assert one == same
    assert one != other


def test_a_task_survives_its_journey(tmp_path: Path) -> None:
    """What a desk reads is what was sent, line breaks in a name included."""
    name = os.fsdecode(b"caf\xe9\n.xml")
    task = Task(name, f"/in/{name}", str(tmp_path), name, PLAIN, PLAIN.digest())

    assert Task.from_json(task.as_json()) == task
    assert "\n" not in task.as_json()


@pytest.mark.parametrize("folder", ["", "..", "a/../../b", "a//b"])
def test_no_folder_leads_out_of_the_output_folder(folder: str) -> None:
    """A name can never put results elsewhere."""
    with pytest.raises(BatchError, match="results cannot be put into a folder"):
        Task("x.xml", "/x.xml", "/out", folder, PLAIN, "")


def test_the_summary_can_be_opened_in_a_spreadsheet() -> None:
    """Names are text there: no formula begins in them, no line ends in them."""
    record = Record("=cmd|'/c calc'!A1\n.xml", Outcome.DONE, 0, title='"quoted", -1', bars=3)
    text = summary_csv([record]).decode("utf-8-sig")

    assert text.splitlines()[1].startswith('\'=cmd|\'/c calc\'!A1�.xml,done,0,,"""quoted"", -1",3,')
    assert len(text.splitlines()) == 2


@pytest.mark.parametrize(
    ("codes", "strict", "code"),
    [
        ((), True, 0),
        ((0, 1), False, 0),
        ((0, 1), True, 1),
        ((1, 2, 0), False, 2),
        ((2, 3), True, 3),
    ],
)
def test_the_worst_score_decides_the_exit_code(
    codes: tuple[int, ...], strict: bool, code: int
) -> None:
    """The codes are those of ``mark``."""
    records = [Record(str(place), Outcome.DONE, each) for place, each in enumerate(codes)]

    assert exit_code(records, strict) == code
