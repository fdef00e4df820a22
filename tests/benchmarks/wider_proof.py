# ruff: noqa: T201
"""The whole proof of a page, marks and music, over everything there is to engrave.

    PYTHONPATH=tests python tests/benchmarks/wider_proof.py [examples|pieces|dense|varied [FROM TO]]

Our examples in all house styles, the pieces of ``corpus_pieces.py``, two hundred dense parts
(``dense_pages.py``: marks and contacts alone, since their notes are plain LilyPond) and three
hundred parts with signs (``varied_parts.py``). Each is engraved until nothing is left to mend, as
``mark`` does; what then fails is printed, with a line of figures for each group. FROM and TO choose
some of a group, so that it can be run in slices.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from corpus_pieces import PIECES
from dense_pages import engraved_until_well, varied_page, varied_style
from varied_parts import varied_part

from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.engrave.house_style import HouseStyle, house_style_names, load_house_style
from pedalsetter.engrave.layout.contacts import contact_failures
from pedalsetter.engrave.output.pages.press import engrave_part
from pedalsetter.engrave.output.pages.settled_press import engrave_settled

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
DENSE, VARIED = 200, 300

Engraved = tuple[int, int, tuple[str, ...]]
"""Pages, engravings, and what fails."""
Job = tuple[str, Callable[[], Engraved]]


def settled(part: HarpPart, style: HouseStyle) -> Engraved:
    """The part as ``mark`` engraves it."""
    plan = plan_changes(part)
    done = engrave_settled(part, lambda wishes: place_marks(part, plan, wishes), style).engraved
    return done.proof.pages, done.engravings, done.proof.failures


def varied(seed: int) -> Engraved:
    """One part with signs, names of strings among them; warnings that are no failures are told."""
    part = read_score(varied_part(seed), f"varied-{seed}.xml")
    done = engrave_part(part, place_marks(part, plan_changes(part)), load_house_style())
    failures = (*done.proof.failures, *done.engraving.warnings)
    return done.proof.pages, done.engravings, failures


def dense(seed: int) -> Engraved:
    """One dense part."""
    page = varied_page(seed)
    pages = engraved_until_well(page, varied_style(seed))
    contacts = contact_failures(page.part, pages[-1].placement.boxes)
    proof = pages[-1].proof
    return proof.pages, len(pages), (*proof.failures, *contacts)


def examples() -> Iterator[Job]:
    """Each example in each house style."""
    for path in sorted(EXAMPLES.glob("*.m*x*l")):
        for name in house_style_names():
            style = load_house_style(name)
            yield (
                f"{path.stem}, {name}",
                lambda path=path, style=style: settled(read_part(path), style),
            )


def pieces() -> Iterator[Job]:
    """Each piece of the table of plans."""
    style = load_house_style()
    for piece in PIECES:
        yield piece.id, lambda piece=piece: settled(read_part(piece.path, piece.part), style)


GROUPS: dict[str, Callable[[], Iterator[Job]]] = {
    "examples": examples,
    "pieces": pieces,
    "dense": lambda: ((f"dense {n}", lambda n=n: dense(n)) for n in range(DENSE)),
    "varied": lambda: ((f"varied {n}", lambda n=n: varied(n)) for n in range(VARIED)),
}


def main(name: str, first: int, last: int | None) -> None:
    """Run one group, or a slice of it."""
    pages = engravings = bad = 0
    began = time.process_time()
    jobs = list(GROUPS[name]())[first:last]
    for title, job in jobs:
        more, times, failures = job()
        pages, engravings, bad = pages + more, engravings + times, bad + bool(failures)
        for failure in failures:
            print(f"{title}: {failure}", flush=True)
    print(
        f"{name}: {len(jobs)} parts, {pages} pages, {engravings} engravings, {bad} with failures, "
        f"{time.process_time() - began:.0f} s of Python",
        flush=True,
    )


if __name__ == "__main__":
    chosen = sys.argv[1:2] or list(GROUPS)
    bounds = [int(bound) for bound in sys.argv[2:4]]
    for group in chosen:
        main(group, *(bounds if len(bounds) == 2 else (0, None)))
