"""How places and notes are called when one talks about them.

``places`` turns ``12:2½`` into a place of the part and back; ``wording`` joins lists and names
notes. In go values of the part, out comes text, the same in reports, findings and errors.
Sentences about one subject stand with that subject. Nothing here may know the plan or the page.
"""
