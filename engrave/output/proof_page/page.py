"""The proof as one file: pages with a target over every mark, data, style and script."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections import Counter
from collections.abc import Sequence
from html import escape
from importlib import resources
from typing import Any

from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.engrave.layout.placement import PlacedMark, Placement
from pedalsetter.engrave.output.proof_page.facts import MarkFacts
from pedalsetter.engrave.output.reports.entries import entries_of, verdict

__all__ = ["proof_html"]

_DATA = re.compile(r'<script type="application/json" id="proof-data">(.*?)</script>', re.DOTALL)


def proof_html(
    part: HarpPart,
    plan: PedalPlan,
    placement: Placement,
    pages: Sequence[bytes],
    *,
    download: str,
    given: str = "",
    earlier: str = "",
) -> str:
    """The page; ``plan`` should know the other places of its changes.

    ``pages`` are the engraved pages as PNG, ``download`` is what the file of decisions is called,
    ``given`` the file of decisions as it is now, and ``earlier`` the last proof, with which this
    one is compared.
    """
    facts = MarkFacts(part, plan)
    marks = [facts.of(placed.mark) for placed in placement.marks]
    printed = [f"{mark['text']}, {mark['where']}" for mark in marks]
    old = _data_of(earlier)
    since, new = _since(printed, old)
    data = {
        "file": part.source.file,
        "key": hashlib.sha256("\n".join([part.source.file, *printed, given]).encode()).hexdigest(),
        "download": download,
        "verdict": verdict(part, plan),
        "given": _parted(given),
        "marks": marks,
        "printed": printed,
        "since": since,
        "new": sorted(new),
        "findings": [
            f"{entry.severity.value}, {entry.where(part)}: {entry.main.what}"
            for entry in entries_of(part, plan.findings)
        ],
    }
    script = _template("proof.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode("ascii")
    parts = {
        "POLICY": f"default-src 'none'; img-src data:; style-src 'unsafe-inline'; "
        f"script-src 'sha256-{digest}'",
        "TITLE": escape(f"Proof: {part.title or part.source.file}"),
        "FILE": escape(download),
        "PAGES": _pages(placement, pages, marks, printed, new),
        # A text of the score must not end the element that holds it.
        "DATA": json.dumps(data, ensure_ascii=False).replace("<", "\\u003c"),
        "SCRIPT": script,
    }
    return re.sub(r"@([A-Z]+)@", lambda found: parts[found[1]], _template("proof.html"))


def _template(name: str) -> str:
    return resources.files("pedalsetter.templates").joinpath(name).read_text("utf-8")


def _pages(
    placement: Placement,
    pages: Sequence[bytes],
    marks: Sequence[dict[str, Any]],
    printed: Sequence[str],
    new: set[str],
) -> str:
    numbered: dict[int, list[tuple[int, PlacedMark]]] = {}
    for number, placed in enumerate(placement.marks):
        numbered.setdefault(placed.page, []).append((number, placed))
    out = []
    for page, picture in zip(placement.boxes.pages, pages, strict=True):
        targets = []
        for number, placed in numbered.get(page.number, []):
            mark, box = marks[number], placed.box
            kinds = ["mark"]
            kinds += ["decided"] if mark["decided"] else []
            kinds += ["new"] if printed[number] in new else []
            label = f"{mark['where']}: {mark['text']}"
            label += ", decided" if mark["decided"] else ""
            label += ", new since the last proof" if "new" in kinds else ""
            place = (
                f"left:{100 * box.left / page.width:.3f}%;top:{100 * box.top / page.height:.3f}%;"
                f"width:{100 * (box.right - box.left) / page.width:.3f}%;"
                f"height:{100 * (box.bottom - box.top) / page.height:.3f}%"
            )
            targets.append(
                f'<button type="button" class="{" ".join(kinds)}" data-mark="{number}" '
                f'aria-pressed="false" aria-label="{escape(label)}" style="{place}"></button>'
            )
        source = base64.b64encode(picture).decode("ascii")
        out.append(
            f'<div class="page"><img alt="Page {page.number} of the part" '
            f'src="data:image/png;base64,{source}">{"".join(targets)}</div>'
        )
    return "\n".join(out)


def _parted(given: str) -> dict[str, str]:
    """A file of decisions: what stands before its first table, and from there on."""
    found = re.search(r"^[ \t]*\[", given, re.MULTILINE)
    place = len(given) if found is None else found.start()
    return {"top": given[:place], "rest": given[place:]}


def _data_of(earlier: str) -> dict[str, Any]:
    """What the last proof knew; nothing if it is none of ours."""
    found = _DATA.search(earlier)
    try:
        data = json.loads(found[1]) if found else {}
    except ValueError:
        return {}
    printed = data.get("printed") if isinstance(data, dict) else None
    return data if isinstance(printed, list) and all(isinstance(p, str) for p in printed) else {}


def _since(printed: list[str], old: dict[str, Any]) -> tuple[list[str] | None, set[str]]:
    """What has changed since the last proof, in lines, and the marks that are new.

    If nothing has, the last proof's own answer stays, so that the same plan gives the same page.
    """
    if not old:
        return None, set()
    if old["printed"] == printed:
        since, new = old.get("since"), old.get("new")
        return (
            [str(one) for one in since] if isinstance(since, list) else None,
            {str(one) for one in new} if isinstance(new, list) else set(),
        )
    before, after = Counter(old["printed"]), Counter(printed)
    gone = [f"no longer: {one}" for one in (before - after).elements()]
    come = list((after - before).elements())
    return [*gone, *(f"new: {one}" for one in come)], set(come)
