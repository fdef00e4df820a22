# The types with which bounds.py is compiled.

from pedalsetter.analysis.planning.prices cimport Past, Prices, Variant

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

cdef class Table:
    cdef int begin, end
    cdef readonly dict final
    cdef list after
    cdef long long[::1] least

cdef class Bounds:
    cdef Prices prices
    cdef object form
    cdef list asks, _candidates, certain
    cdef int _count
    cdef dict _nodes, _helds, _tables
    cdef int[::1] places, first
    cdef long long[::1] skips

    cdef _number_asks(self)
    cdef Past after(self, Past past, int place, Variant variant, bint moved)
    cpdef Held holding(self, tuple waits, tuple memory)
    cdef Node node(self, int place, int position, int moved, Held held, Past past, Past certain)
    cdef int _also(self, Node node) except -2
    cdef Table table(self, int stretch, Held held)
    cdef Table _solved(self, int stretch, Held held)
    cdef Held met(self, Held held, int place, Variant variant)
    cdef long long rest(self, int place, int position, int moved, Held held, Past past) except? -1
    cdef long long _towards(self, int place, int position, int moved, tuple pending, Past past,
                            int at, Variant variant) except? -1
    cdef int beside(self, int position) noexcept
    cdef long long pending(self, tuple moves, int goal) except? -1
    cdef tuple _cheapest(self, int place, int position, Held held, Past past, Table table)
