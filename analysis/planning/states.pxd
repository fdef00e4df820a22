# The types with which states.py is compiled.

from pedalsetter.analysis.planning.prices cimport Prices
from pedalsetter.analysis.planning.sounded cimport Past, Variant

cdef class Held:
    cdef readonly int number
    cdef readonly tuple waits, memory
    cdef public Held calm

cdef class Node:
    cdef readonly int place, position, moved
    cdef readonly Held held
    cdef readonly Past past, certain
    cdef public long long rest, least
    cdef public int number, sign, also
    cdef public list moves, values
    cdef Node next

cdef class States:
    cdef Prices prices
    cdef object form
    cdef list asks, _candidates, certain
    cdef dict _helds
    cdef int[::1] places, first, targets
    cdef long long[::1] skips

    cdef _number_asks(self)
    cdef _number_targets(self)
    cdef Past after(self, Past past, int place, Variant variant, bint moved)
    cpdef Held holding(self, tuple waits, tuple memory)
    cdef int _also(self, Node node) except -2
