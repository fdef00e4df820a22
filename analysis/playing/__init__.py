"""What is played, and when: the part in the order and the time in which a harpist meets it.

In comes a :class:`~pedalsetter.analysis.part.HarpPart`. Out come the order of its bars with repeats
and jumps followed (``playing_order``), the time of every place (``clock``), the moments at which a
pedal could move (``moments``), what is played at each with all strings that could sound it
(``strikes``), and what goes on: trills, tremolos, ties, key signatures (``sustained``), glissandi
(``glissandi``).
Nothing here knows of pedals that move, of prices or of plans.
"""
