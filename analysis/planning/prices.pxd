# The types with which prices.py is compiled.

cdef class Variant:
    cdef readonly int position, registers, kind, lock
    cdef readonly long long until, points, stroke, lost

cdef class Past:
    cdef readonly int number, lock
    cdef readonly long long stroke, until, low, middle, high
    cdef Past next

cdef class Prices:
    cdef long long[::1] times, rested, _place_prices, _changes, _counted, _spread, _settled
    cdef signed char[::1] ends, reserved
    cdef int[::1] capacities, begins, stretch_of, _shown
    cdef long long _comfortable, _comfortable_twice, _least, _least_twice
    cdef long long _low, _middle, _high, _change, _second_notch, _between, _hurried, _impossible
    cdef long long _under_note, _resonance, _on_need, _near, _early, _very_early, _very_early_over
    cdef readonly long long lost, slack
    cdef int _count
    cdef dict _pasts, _windows
    cdef readonly Past nothing

    cpdef long long time(self, int place, int later) noexcept
    cpdef long long haste(self, long long gap, int notches) noexcept
    cpdef bint spread(self, int place) noexcept
    cpdef long long between(self, int place) noexcept
    cpdef long long fixed(self, int notches, int place) noexcept
    cpdef long long place(self, int place) noexcept
    cpdef long long ringing(self, Past past, long long time) noexcept
    cdef long long _ring(self, long long left, long long ring) noexcept
    cpdef long long sound(self, Past past, int notches, long long time) noexcept
    cpdef long long early(self, int goal, int place) noexcept
    cdef long long _from(self, int place) noexcept
    cpdef long long near(self, int goal, int place) noexcept
    cpdef long long move(self, Past past, int notches, int place) noexcept
    cdef Past _past(self, int lock, long long stroke, long long until, long long low,
                    long long middle, long long high)
    cpdef Past moved(self, Past past)
    cpdef Past faded(self, Past past, int place)
    cpdef Past played(self, Past past, int place, Variant variant)
    cdef Past _fading(self, int place, int lock, long long stroke, long long until, long long low,
                      long long middle, long long high)
    cpdef long long dearer(self, Past one, Past other, int place) noexcept
    cpdef long long window(self, Past past, int position, int goal, int target, int kind,
                           int place) except? -1
    cdef list _priced(self, Past past, int position, int goal, int target, int kind)
