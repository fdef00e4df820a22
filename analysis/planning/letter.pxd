# The types with which letter.py is compiled.

from pedalsetter.analysis.planning.bounds cimport Bounds, Table
from pedalsetter.analysis.planning.states cimport Held, Node
from pedalsetter.analysis.planning.sounded cimport Past, Variant

cdef class Move:
    cdef readonly long long rise, points
    cdef readonly Node after
    cdef readonly int notches, target

cdef class Value:
    cdef readonly long long points
    cdef readonly Node after

cdef class Letter(Bounds):
    cdef list moves_of(self, Node node)
    cdef list _moves(self, Node node)
    cdef set _targets(self, Node node, int number)
    cdef expand(self, Node node)
    cdef list _leaving(self, Node node)
    cdef list _values(self, Node node)
    cdef list _wild(self, Node node, int number, Node still)
    cdef long long excess(self, Node one, Node other) except? -1
