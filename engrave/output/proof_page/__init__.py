"""The proof for the harpist: one page to mail, on which marks are looked at, moved and struck out.

``facts.py`` gathers what the page knows of each mark, ``page.py`` makes one file of it. The page
gives back a file of decisions, which is read as any other.
"""

from pedalsetter.engrave.output.proof_page.page import proof_html

__all__ = ["proof_html"]
