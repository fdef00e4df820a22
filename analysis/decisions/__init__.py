"""What the musician has decided about the pedals of one score.

``values`` are the decisions themselves, ``file`` reads them from the file beside the score, and
``small_notes`` applies what is said about notes of cue size. In goes TOML, out come frozen values
that :func:`~pedalsetter.analysis.planning.plan_changes` honours or refuses with a reason. Whether a
decision can hold is the planner's to find out: nothing here may know how it searches.
"""
