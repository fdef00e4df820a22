# The types with which sounded.py is compiled.

cdef class Variant:
    cdef readonly int position, registers, kind, lock
    cdef readonly long long until, points, stroke, lost

cdef class Past:
    cdef readonly int number, lock
    cdef readonly long long stroke, until, low, middle, high
    cdef Past next

cdef class Sounded:
    cdef long long[::1] times
    cdef long long _comfortable, _comfortable_twice, _least, _least_twice
    cdef long long _low, _middle, _high, _hurried, _impossible, _under_note, _resonance
    cdef int _count
    cdef dict _pasts
    cdef readonly Past nothing

    cpdef long long haste(self, long long gap, int notches) noexcept
    cpdef long long ringing(self, Past past, long long time) noexcept
    cdef long long _ring(self, long long left, long long ring) noexcept
    cpdef long long sound(self, Past past, int notches, long long time) noexcept
    cdef Past _past(self, int lock, long long stroke, long long until, long long low,
                    long long middle, long long high)
    cpdef Past moved(self, Past past)
    cpdef Past faded(self, Past past, int place)
    cpdef Past played(self, Past past, int place, Variant variant)
    cdef Past _fading(self, int place, int lock, long long stroke, long long until, long long low,
                      long long middle, long long high)
    cpdef long long dearer(self, Past one, Past other, int place) noexcept
