"""Source marks and planned marks in one edition: keep, complete, replace.

The source's marks are never changed. What an edition adds to them is flagged as editorial, so that
it is printed in brackets and told in the critical report. The replay of the collation shows what is
needed: a change is added where a note does not come out, as late as the feet allow, or where the
plan makes it anyway.
"""

from pedalsetter.analysis.editing.edition import Edition, edit_marks, merge_marks
from pedalsetter.analysis.editing.given_diagrams import with_given_diagrams

__all__ = ["Edition", "edit_marks", "merge_marks", "with_given_diagrams"]
