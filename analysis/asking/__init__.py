"""Questions about a plan that is there: how the pedals stand, what became better, what if.

``standing`` tells the setting at a place, ``comparison`` sets two plans side by side, ``what_if``
tries other spellings of a passage. In go a part and its plans, out come values that a report words.
Nothing here changes a plan or writes a file.
"""
