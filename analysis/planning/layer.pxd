# The types with which layer.py is compiled.

from pedalsetter.analysis.planning.states cimport Node
from pedalsetter.analysis.planning.dominance cimport Dominance, Done, Label
from pedalsetter.analysis.planning.foot cimport Foot, Way
from pedalsetter.analysis.planning.letter cimport Letter, Move, Value
from pedalsetter.analysis.planning.prices cimport Prices

cdef class Layer:
    cdef public long long missed
    cdef Prices _prices
    cdef list _letters, _options, _labels
    cdef Foot _left, _right
    cdef bint _both
    cdef int _count
    cdef long long _reach, _tried
    cdef Dominance _dominance
    cdef dict _found

    cdef _forget_missed(self)
    cdef _count_missed(self)
    cdef list _step(self, int place, list labels, long long limit)
    cdef _go(self, int place, Label label, Way left, Way right, long long base, long long limit,
             list options, bint ends)
    cdef long long _moved(self, int place, list nodes, Way way) except -1
    cdef _answer(self, int place, Label label, list nodes, Way left, Way right, long long made,
                 long long limit, long long late, list options, long long first, long long second)
    cdef Label _keep(self, unsigned long long mixed, long long total, list reached,
                     long long first, long long second, Label before, int place, int option,
                     Way left, Way right, long long late)
    cdef _leave(self, int place, Label label, list nodes, Way left, Way right, long long made,
                long long limit, long long late)
    cdef tuple _positions(self, list nodes)

cdef bint _alike(list one, list other) noexcept
