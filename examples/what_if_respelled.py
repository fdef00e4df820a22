"""What if bar 9 were spelled with flats? Plan the part both ways and compare.

python examples/what_if_respelled.py [SCORE [BAR]]
"""

from __future__ import annotations

import sys
from pathlib import Path

from pedalsetter.engrave.library import (
    Spelling,
    compare_plans,
    plan_part,
    plan_score,
    respelled_bars,
)

score = sys.argv[1] if len(sys.argv) > 1 else Path(__file__).with_name("chromatic-study.musicxml")
bar = sys.argv[2] if len(sys.argv) > 2 else "9"
before = plan_score(score)

for spelling in Spelling:
    after = plan_part(respelled_bars(before.part, [bar], spelling))
    told = compare_plans((before.part, before.plan), (after.part, after.plan))
    print(
        f"bar {bar} with {spelling.value}: {told.changes[0]} changes become {told.changes[1]}, "
        f"{told.unplayable[0]} findings that cannot be played become {told.unplayable[1]}"
    )
    for finding in told.gone:
        print(f"  gone, {before.part.told_place(finding.place)}: {finding.what}")
    for finding in told.new:
        print(f"  new, {after.part.told_place(finding.place)}: {finding.what}")
