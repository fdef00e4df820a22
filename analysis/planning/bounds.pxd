# The types with which bounds.py is compiled.

from pedalsetter.analysis.planning.sounded cimport Past, Variant
from pedalsetter.analysis.planning.states cimport Held, Node, States

cdef class Table:
    cdef int begin, end
    cdef readonly dict final
    cdef list after
    cdef long long[::1] least

cdef class Bounds(States):
    cdef int _count
    cdef dict _nodes, _tables

    cdef Node node(self, int place, int position, int moved, Held held, Past past, Past certain)
    cdef Table table(self, int stretch, Held held)
    cdef _solve(self, Table table, int stretch, Held held)
    cdef Held met(self, Held held, int place, Variant variant)
    cdef long long rest(self, int place, int position, int moved, Held held, Past past) except? -1
    cdef long long _towards(self, int place, int position, int moved, tuple pending, Past past,
                            int at, Variant variant) except? -1
    cdef int beside(self, int position) noexcept
    cdef long long pending(self, tuple moves, int goal) except? -1
    cdef tuple _cheapest(self, int place, int position, Held held, Past past, Table table)
