# The types with which dominance.py is compiled.

from pedalsetter.analysis.planning.states cimport Node
from pedalsetter.analysis.planning.foot cimport Way
from pedalsetter.analysis.planning.letter cimport Letter
from pedalsetter.analysis.planning.prices cimport Prices

cdef class Done:
    cdef readonly Done before
    cdef readonly int place, option
    cdef readonly Way left, right
    cdef public tuple begun
    cdef public list state

cdef class Label:
    cdef public long long rank, late
    cdef public list nodes
    cdef public Done done
    cdef long long first, second
    cdef Label next

cdef class Dominance:
    cdef Prices _prices
    cdef list _letters
    cdef int _count

    cdef list undominated(self, list labels, int place)
    cdef unsigned long long _signs(self, Label label, int moved) noexcept
    cdef bint _served(self, Label label, dict alike, int place) except -1
    cdef bint _serves(self, Label better, Label label, int place) except -1
