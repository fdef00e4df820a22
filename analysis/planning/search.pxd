# The types with which search.py is compiled.

from pedalsetter.analysis.planning.dominance cimport Done, Label
from pedalsetter.analysis.planning.layer cimport Layer

cdef class Search(Layer):
    cdef public long long effort
