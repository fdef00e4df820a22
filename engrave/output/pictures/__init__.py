"""Single pictures: a diagram, an example of a glissando, a practice sheet, numbered flags.

``picture`` has LilyPond draw them in the form that a file's name asks for, ``diagram_markup`` says
how a setting looks off the staff. In go settings or plans, out come PNG, SVG or PDF. The chart of a
whole part is drawn without LilyPond, in ``chart``.
"""
