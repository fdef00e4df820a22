# The types with which prices.py is compiled.

from pedalsetter.analysis.planning.sounded cimport Past, Sounded

cdef class Prices(Sounded):
    cdef long long[::1] rested, _place_prices, _changes, _counted, _spread, _settled
    cdef signed char[::1] ends, reserved
    cdef int[::1] capacities, begins, stretch_of, _shown
    cdef long long _change, _second_notch, _between, _on_need, _near
    cdef long long _early, _very_early, _very_early_over, _at_diagram, _told
    cdef readonly long long lost, slack
    cdef dict _windows

    cpdef long long time(self, int place, int later) noexcept
    cpdef bint spread(self, int place) noexcept
    cpdef long long between(self, int place) noexcept
    cpdef long long fixed(self, int notches, int place) noexcept
    cpdef long long place(self, int place) noexcept
    cpdef bint shown(self, int place) noexcept
    cpdef long long early(self, int goal, int place) noexcept
    cdef long long _from(self, int place) noexcept
    cpdef long long near(self, int goal, int place) noexcept
    cpdef long long move(self, Past past, int notches, int place) noexcept
    cpdef long long window(self, Past past, int position, int goal, int target, int kind,
                           int place) except? -1
    cdef list _priced(self, Past past, int position, int goal, int target, int kind)
