"""Chance as an adversary: whatever a file holds, a promise is kept or one line refuses it.

Here a small, fixed share is tried; tests/fuzzing/coverage_guided.py goes on for as long as one
likes, led by the branches that it reaches.
"""

from __future__ import annotations

import random
from pathlib import Path

import fuzz_seeds
import pytest
from damaged_scores import damaged_tree
from fuzz_targets import TARGETS
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from topics.all_topics import TOPICS

FOUND = sorted((Path(__file__).parent / "fuzzing" / "found").iterdir())

TREES = [
    etree.fromstring(topic.data)
    for topic in TOPICS
    if topic.data.startswith(b"<?xml") and b"utf-16" not in topic.data.lower()
]
ELEMENTS = [
    each for tree in TREES for each in tree.iter("*") if each.tag != "part" and len(each) < 12
]


@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.name)
def test_what_was_found_stays_mended(path: Path) -> None:
    """Every file that once broke a promise; its name begins with its target."""
    target = next(name for name in TARGETS if path.name.startswith(f"{name}-"))
    TARGETS[target](path.read_bytes())


def grown(tree: int, seed: int, deeds: int) -> bytes:
    """A topic's score after some deeds, with elements of other topics put in."""
    chance = random.Random(seed)  # noqa: S311 - Hypothesis gives the seed
    root = etree.fromstring(etree.tostring(TREES[tree % len(TREES)]))
    return etree.tostring(damaged_tree(root, chance, deeds, ELEMENTS))


scores = st.builds(grown, st.integers(0, 999), st.integers(0, 2**32), st.integers(1, 8))


@settings(max_examples=150)
@given(scores)
def test_scores_with_parts_of_other_scores(data: bytes) -> None:
    """Read, or refused in one line; a part that is read is whole."""
    TARGETS["read"](data)


@settings(max_examples=30)
@given(scores)
def test_odd_scores_are_planned(data: bytes) -> None:
    """A part that can be read can be planned, marked and checked."""
    TARGETS["plan"](data)


@settings(max_examples=30)
@given(scores)
def test_odd_scores_are_written_back(data: bytes) -> None:
    """Marks go in and out of whatever can be read."""
    TARGETS["write-back"](data)


def settings_texts(kind: str) -> st.SearchStrategy[bytes]:
    """Lines of real files in any order, some with a value of another line."""
    lines = [
        line for data in fuzz_seeds.settings_files(kind) for line in data.decode().splitlines()
    ]
    keys = sorted({line.split("=")[0] for line in lines if "=" in line})
    values = sorted({line.split("=", 1)[1] for line in lines if "=" in line})
    odd = ["", " 1e999", " nan", " -1", " true", " []", " {}", ' "\\u0000"', " '''", " 1979-05-27"]
    made = st.tuples(st.sampled_from(keys), st.sampled_from([*values, *odd])).map("=".join)
    return st.lists(st.sampled_from(lines) | made, max_size=12).map(
        lambda chosen: "\n".join(chosen).encode()
    )


@settings(max_examples=150)
@given(settings_texts("house-style") | st.binary(max_size=60))
def test_any_house_style(data: bytes) -> None:
    """A style, or one line."""
    TARGETS["house-style"](data)


@settings(max_examples=60)
@given(settings_texts("decisions") | st.binary(max_size=60))
def test_any_decisions(data: bytes) -> None:
    """A plan around them, or one line."""
    TARGETS["decisions"](data)
