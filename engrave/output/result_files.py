"""The files that come of one score, by name: what ``mark`` and ``batch`` both write."""

from __future__ import annotations

import os
import re
from dataclasses import replace
from typing import TYPE_CHECKING

from pedalsetter.analysis.part import Notice
from pedalsetter.engrave.output.own_results import stamped
from pedalsetter.engrave.output.reports.plan_document import plan_json
from pedalsetter.engrave.output.results import EngravedScore, PlannedScore

if TYPE_CHECKING:
    from pedalsetter.engrave.house_style import HouseStyle

__all__ = ["possible_names", "result_files"]


def result_files(
    result: EngravedScore, stem: str, *, marked_copy_of: str | os.PathLike[str] | None = None
) -> tuple[dict[str, bytes], tuple[Notice, ...]]:
    """All files of a score as they are written, named from ``stem``, and all notices.

    ``marked_copy_of`` is the score file if a copy of it with the marks in it is wanted too.

    Raises:
        OutputError: the format of the score cannot hold the marks.
        ScoreError: the score cannot be written back.
    """
    planned = result.planned
    document = plan_json(planned.part, planned.plan, planned.markings, result.notices)
    files = {
        f"{stem}.ly": result.source.encode(),
        f"{stem}.pdf": result.pdf,
        f"{stem}.plan.json": document.encode(),
    }
    for number, page in enumerate(result.pages, start=1):
        files[f"{stem}-{number}.png"] = page
    for number, system in enumerate(result.systems, start=1):
        files[f"{stem}-system-{number}.png"] = system
    if result.contact_sheet is not None:
        files[f"{stem}-pages.png"] = result.contact_sheet
    if result.stylesheet is not None:
        files["pedals.ily"] = result.stylesheet.encode()
    if result.critical_report is not None:
        markdown, html = result.critical_report
        files[f"{stem}.critical.md"] = markdown.encode()
        files[f"{stem}.critical.html"] = html.encode()
    if result.proof_page is not None:
        files[f"{stem}.proof.html"] = result.proof_page.encode()
    if marked_copy_of is None:
        return _stamped(files), result.notices
    if result.copy_markings is not None and planned.edition is not None:
        edition = replace(planned.edition, markings=result.copy_markings)
        planned = replace(planned, edition=edition)
    copy, notices = copy_files(planned, result.house_style, stem, marked_copy_of)
    told = (*result.notices, *notices)
    document = plan_json(result.planned.part, planned.plan, result.planned.markings, told)
    files[f"{stem}.plan.json"] = document.encode()
    return _stamped(files) | {
        name: content for name, content in copy.items() if name not in files
    }, told


def copy_files(
    planned: PlannedScore, style: HouseStyle | None, stem: str, score: str | os.PathLike[str]
) -> tuple[dict[str, bytes], tuple[Notice, ...]]:
    """The plan and a copy of the score with the marks in it, and what the copy could not say.

    Raises:
        OutputError: the format of the score cannot hold the marks.
        ScoreError: the score cannot be written back.
    """
    if planned.edition is None:
        raise ValueError("a plan without an edition says nothing about the source's marks")
    from pedalsetter.engrave.output.write_back.marked_copy import marked_copy
    from pedalsetter.engrave.output.write_back.options import DEFAULT_OPTIONS, options_of

    options = DEFAULT_OPTIONS if style is None else options_of(style, planned.part)
    copy = marked_copy(score, planned.part, planned.edition, options)
    document = plan_json(
        planned.part, planned.plan, planned.markings, (*planned.part.warnings, *copy.notices)
    )
    files = {
        f"{stem}.plan.json": document.encode(),
        f"{stem}-pedals{copy.suffix}": copy.data,
    }
    return _stamped(files), copy.notices


def possible_names(
    stem: str,
    ending: str = "",
    *,
    pictures: bool = True,
    report: bool = False,
    proof: bool = False,
    marked_copy: bool = False,
    stylesheet: bool = False,
) -> re.Pattern[str]:
    """Matches every name that :func:`result_files` may give, known before there is a result.

    ``ending`` matches what may stand between ``stem`` and the rest.
    """
    endings = [r"\.ly", r"\.pdf", r"\.plan\.json"]
    endings += [r"(-system)?-\d+\.png", r"-pages\.png"] if pictures else []
    endings += [r"\.critical\.(md|html)"] if report else []
    endings += [r"\.proof\.html"] if proof else []
    endings += [r"-pedals\.(musicxml|mxl|mei)"] if marked_copy else []
    names = f"{re.escape(stem)}{ending}({'|'.join(endings)})"
    return re.compile(rf"{names}|pedals\.ily" if stylesheet else names)


def _stamped(files: dict[str, bytes]) -> dict[str, bytes]:
    return {name: stamped(name, content) for name, content in files.items()}
