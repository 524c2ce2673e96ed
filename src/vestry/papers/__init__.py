"""The printed sheets of a plan: accessible PDF with the plan's own numbers, read aloud when the tablet fails.

sheet_pdf        the sheets as PDF/UA-1; the same input gives the same bytes
sheet_pages_png  the same pages as pictures, to look at
Approval         what is printed of an approval; without one every page says so
book_pdf         the procedure book: a Chapter for each approved procedure
differences_pdf  the sheet of differences of a substitution
amounts_pdf      how much reaches where: the tables of the desk, an AmountsSheet
all_clear_pdf    a paper for each of those who were inside, once a hazard is ruled out
explanation_pdf  why a verdict is what it is, with a strip of figures and the sources
forecast_pdf     how long a stay lasts, with its charts
posted_pdf       a paper that hangs where it is used: large lines, steps, a table to sign
roster_pdf       who covers what, week by week
rules_pdf        what each published rule costs or buys
Labels, ENGLISH  the paper's own words
"""

from vestry.papers.all_clear import all_clear_content, all_clear_pdf
from vestry.papers.amounts import AmountsSheet, amounts_content, amounts_pdf
from vestry.papers.book import Chapter, book_content, book_pdf
from vestry.papers.differences import differences_content, differences_pdf
from vestry.papers.explanation import explanation_content, explanation_pdf, touchings
from vestry.papers.forecast import forecast_content, forecast_pdf
from vestry.papers.labels import ENGLISH, Labels
from vestry.papers.posted import Posted, posted_content, posted_pdf
from vestry.papers.roster import roster_content, roster_pdf
from vestry.papers.rules import rules_content, rules_pdf
from vestry.papers.sheet import Approval, NotOfThisPlan, sheet_content
from vestry.papers.typesetting import CannotPrint, sheet_pages_png, sheet_pdf

__all__ = [
    "ENGLISH",
    "AmountsSheet",
    "Approval",
    "CannotPrint",
    "Chapter",
    "Labels",
    "NotOfThisPlan",
    "Posted",
    "all_clear_content",
    "all_clear_pdf",
    "amounts_content",
    "amounts_pdf",
    "book_content",
    "book_pdf",
    "differences_content",
    "differences_pdf",
    "explanation_content",
    "explanation_pdf",
    "forecast_content",
    "forecast_pdf",
    "posted_content",
    "posted_pdf",
    "roster_content",
    "roster_pdf",
    "rules_content",
    "rules_pdf",
    "sheet_content",
    "sheet_pages_png",
    "sheet_pdf",
    "touchings",
]
