"""Catalogues: the road walked for thousands of scores, each by itself.

The parent process finds the scores (``scores``), gives each a folder of its own (``folders``) and
writes down in the ``journal`` how each ended. The work is done at desks (``desk``): processes that
have loaded everything and treat one score after another, each in a child of its own (``serving``),
so that a crash, a lack of memory or a lack of time loses one score and nothing else. What comes of
a score (``one_score``) is written into a private folder and put in its place by one rename: it is
there whole or not at all, whenever the run is killed. ``local`` has the desks on this machine,
``cluster`` on the machines of a Dask scheduler.

Begin with :class:`pedalsetter.engrave.batch.task.Task` and
:class:`pedalsetter.engrave.batch.record.Record`: all else lies between these two.
"""
