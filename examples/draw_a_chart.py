"""Draw the pedal chart of a part, and the diagram of its opening setting.

    python examples/draw_a_chart.py [SCORE [FOLDER]]

In a notebook, the last line of a cell that is `draw_chart(planned)` shows the chart itself.
"""

from __future__ import annotations

import sys
from pathlib import Path

from pedalsetter.engrave.library import draw_chart, draw_diagram, plan_score

score = sys.argv[1] if len(sys.argv) > 1 else Path(__file__).with_name("evening-water.musicxml")
folder = Path(sys.argv[2]) if len(sys.argv) > 2 else Path()
planned = plan_score(score)

chart = draw_chart(planned)
opening = draw_diagram(planned.plan.movements[0].opening)
files = chart.files(Path("chart.svg")) | opening.files(Path("opening.svg"))
for name, content in files.items():
    (folder / name).write_bytes(content)
    print(name)
