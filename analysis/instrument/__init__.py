"""The concert harp and its notes: seven pedals, three positions each, and the strings they tune.

``harp`` is the instrument itself: letters, feet, positions, settings, compass. ``respelling`` leads
from a written pitch to the strings that sound it, ``note_names`` and ``pitch_names`` from what
musicians write to positions, in five languages. In goes text or a pitch, out come frozen values;
what cannot be read raises an error of :mod:`pedalsetter.analysis.errors`. Nothing here may know a
score, a plan or a page.
"""
