"""From the plan to what is printed for the harpist, and where.

``marking`` chooses diagrams and letters, ``string_marks`` the names of strings at notes that are
played on another one than written, ``retiming`` moves letters to where a house style wants them, as
far as the notes allow. In go a part and its plan, out come :class:`~.marking.Markings` with places
of the part. How a mark looks, and how high it stands, nothing here may know.
"""
