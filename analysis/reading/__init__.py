"""From a score file to a :class:`~pedalsetter.analysis.part.HarpPart`.

:func:`read_part` is the door. MusicXML is read from its own elements, since a mark must later go
back to the very note it stands on; every other format is turned into MusicXML in memory first, so
there is one reader and one set of rules.

The steps, each a file, in the order in which :mod:`~pedalsetter.analysis.reading.musicxml` takes
them::

    limits, container, thinned,    what a file may ask of us; the score inside an .mxl archive;
    timewise                      large scores of which most parts are let go
    part_list, part_choice        which part is the harp
    walk                          every element at its exact moment, by way of
                                  attributes, pitches, notes, notations, figures, identities
    split_bars, barlines, bars    repeats, endings, real lengths
    voices, grace_notes, printed_values, tuplets, ties, spanners
                                  what a note is among its neighbours
    directions                    words, dynamics, speed, navigation, pedal marks of the source, by
                                  way of printed_text, tempo_words, jump_words, source_marks
    other_parts                   signs for everyone that stand above another part
    tempi, movements, sections    what follows from all the rest
    other_formats                 MEI, kern, ABC, MIDI (mei_signs, midi_notation)

Whatever is understood only in part, or left out, is told in ``HarpPart.warnings``.
"""

from pedalsetter.analysis.reading.harp_part import read_part, read_score

__all__ = ["read_part", "read_score"]
