"""Charts: the pedals of a whole piece as a picture.

Decide first, draw last::

    PlannedScore ─ paths ▶ where each pedal stands ─ rows ▶ bars on lines ─ page ▶ Drawing
    Drawing ─ svg ▶ SVG          Drawing ─ pixels ▶ PNG

A :class:`~pedalsetter.engrave.output.chart.shapes.Drawing` is plain data in millimetres; both
writers show the same. Begin with :mod:`pedalsetter.engrave.output.chart.chart`.
"""
