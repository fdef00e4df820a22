# ruff: noqa: T201, S311
"""What planning costs an onset in chromatic music of three lengths, beside music21's parse.

    PYTHONPATH=tests python tests/benchmarks/planning_speed.py [ONSETS …]

The music is made here: broken chords over a chromatic bass in eighth notes at 72 quarter notes a
minute, a new chord with one to three new accidentals every bar. Each length runs in a process of
its own, so that its peak memory is its own.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from random import Random

_BAR = '<measure number="{number}">{attributes}{notes}</measure>'
_ROOTS = ("C", "D", "E", "F", "G", "A", "B")


def chromatic_score(onsets: int) -> str:
    """A score in MusicXML with so many onsets, eight a bar; one number, one score."""
    random = Random(onsets)
    bars = []
    alters = dict.fromkeys(_ROOTS, 0)
    for number in range(1, onsets // 8 + 1):
        for letter in random.sample(_ROOTS, random.choice((1, 1, 2, 3))):
            alters[letter] = random.choice((-1, 0, 1))
        root = random.randrange(7)
        notes = ""
        for place in range(8):
            letter = _ROOTS[(root + 2 * (place % 4)) % 7]
            octave = 3 + (root + 2 * (place % 4)) // 7 + place // 4
            notes += (
                f"<note><pitch><step>{letter}</step><alter>{alters[letter]}</alter>"
                f"<octave>{octave}</octave></pitch><duration>1</duration><voice>1</voice>"
                "<type>eighth</type></note>"
            )
        attributes = ""
        if number == 1:
            attributes = (
                "<attributes><divisions>2</divisions><time><beats>4</beats>"
                "<beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef>"
                '</attributes><direction><sound tempo="72"/></direction>'
            )
        bars.append(_BAR.format(number=number, attributes=attributes, notes=notes))
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>'
        '<score-part id="P1"><part-name>Harp</part-name></score-part></part-list>'
        f'<part id="P1">{"".join(bars)}</part></score-partwise>'
    )


def measure(onsets: int) -> None:
    """Print one row of the table; the peak is that of this process."""
    from pedalsetter.analysis.planning import plan_changes
    from pedalsetter.analysis.reading import read_part

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "chromatic.musicxml"
        path.write_text(chromatic_score(onsets), encoding="utf-8")
        part = read_part(path)
        begin = time.process_time()
        plan = plan_changes(part)
        planning = time.process_time() - begin
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        import music21

        begin = time.process_time()
        music21.converter.parse(path, forceSource=True)
        parsing = time.process_time() - begin
    print(
        f"| {onsets:,} | {len(plan.changes):,} | {'yes' if plan.proved_optimal else 'no'} "
        f"| {planning:.2f} | {1000 * planning / onsets:.2f} | {planning / parsing:.2f} | {peak} |",
        flush=True,
    )


def main() -> None:
    """Print the table."""
    if len(sys.argv) == 3 and sys.argv[1] == "--one":
        measure(int(sys.argv[2]))
        return
    print("| onsets | changes | proved | s | ms an onset | of music21's parse | peak, MB |")
    print("| --: | --: | --- | --: | --: | --: | --: |", flush=True)
    for onsets in map(int, sys.argv[1:] or ("500", "2000", "20000")):
        subprocess.run([sys.executable, __file__, "--one", str(onsets)], check=True, env=os.environ)


if __name__ == "__main__":
    main()
