# The types with which foot.py is compiled.

from pedalsetter.analysis.planning.states cimport Node
from pedalsetter.analysis.planning.prices cimport Prices
from pedalsetter.analysis.planning.sounded cimport Past
from pedalsetter.analysis.planning.letter cimport Letter, Move

cdef class Way:
    cdef public long long points, gain, last
    cdef public tuple moves, letters, later

cdef class Foot:
    cdef Prices _prices
    cdef list _letters, _own, _numbers, _able, _floors, _saved, _taken, _whose, _found, _nodes
    cdef frozenset _pairs, _decided
    cdef bint _alone, _free
    cdef long long _at_once, _crossed, _travel, _last, _limit
    cdef int _place, _room, _floor_place
    cdef readonly Way still
    cdef public long long missed, tried

    cdef list ways(self, int place, list nodes, long long last, long long rank, long long ahead,
                   long long limit)
    cdef long long _able_to(self, int at, int number, Node node, long long rank,
                            long long limit) except? -1
    cdef _share(self, int place)
    cdef _more(self, int at, long long ahead, long long points)
    cdef _ordered(self, long long ahead, long long points)
    cdef list _turns(self, tuple order)
    cdef bint _fit(self, int one, int other) except -1
    cdef long long _priced(self, tuple order, tuple turns, long long ahead,
                           long long points) except? -1
    cdef long long _weighed(self, Move move, Node node) noexcept
    cdef Node _node(self, int at)
    cdef int _crosses(self, int at) except -1
    cdef _note(self, Way way, tuple order, tuple turns, long long extra)
