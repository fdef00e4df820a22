"""Plan a harp part and print what a harpist would want to know first.

python examples/plan_a_part.py [SCORE]
"""

from __future__ import annotations

import sys
from pathlib import Path

from pedalsetter.engrave.library import place_named, plan_score, standing_at

score = sys.argv[1] if len(sys.argv) > 1 else Path(__file__).with_name("evening-water.musicxml")
planned = plan_score(score)
part, plan = planned.part, planned.plan

print(f"{part.title}: {len(part.bars)} bars, {len(plan.changes)} changes")
print(f"opening: {plan.movements[0].opening}")
for change in plan.changes[:5]:
    print(f"{part.told_place(change.place)}: {change.text}, {change.foot.value} foot")

middle = place_named(part, part.printed_bar(len(part.bars) // 2))
print(f"{part.told_place(middle)}: {standing_at(part, plan, middle).setting}")

for finding in plan.findings:
    print(f"{finding.severity.value}, {part.told_place(finding.place)}: {finding.what}")
