"""Practice sheets: a tihai, a phrase, a raga or a set of them on paper, as one HTML file or as PDF.

``wishes.py`` says what may be asked for; ``sheet.py`` puts the HTML together from the pages (``tihai_page.py`` and
``phrase_page.py``, both on ``piece_page.py``; ``raga_page.py``) and the ``templates``; ``pdf.py`` makes PDF of it.
Figures: ``drawing.py`` is what they are drawn with, ``systems.py`` the notation under the matras (its signs:
``written.py``), ``cycle.py`` the cycle and the run, ``scale.py`` the ways up and down, ``neck.py`` the neck,
``as_played.py`` how it was played. The fonts: ``fonts``.
"""

from annotate.practice.sheets.pdf import sheet_pdf
from annotate.practice.sheets.sheet import sheet_html
from annotate.practice.sheets.wishes import PAPERS, PaperSize, SheetWishes

__all__ = ["PAPERS", "PaperSize", "SheetWishes", "sheet_html", "sheet_pdf"]
