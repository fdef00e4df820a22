"""Settings for a glissando: all seven strings of every octave sound.

``pitch_sets`` reads what is to be heard, as notes, as a chord (``chord_names``) or as a scale
(``scale_names``); ``glissando`` finds the settings that give it, with the fewest pedals moved. In
goes text, out come settings of :mod:`pedalsetter.analysis.instrument.harp`. Nothing here may know a
score.
"""
