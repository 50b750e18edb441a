"""The letter as PDF, on paper of the country's size."""

import datetime as dt
import importlib.util
import unicodedata
from pathlib import Path

from django.utils import formats
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from fpdf import FPDF

from coatround.web.base.models import Firm
from coatround.web.letters.models import Letter
from coatround.web.records.phones import phone_words

LETTER_PAPER = {"US", "CA", "MX", "PH", "CL", "CO"}
INK, SOFT, WATER, CARE = (23, 36, 42), (62, 77, 83), (10, 80, 88), (128, 43, 16)
MARGIN_MM = 24
CARE_PADDING_MM = 4
SIGNED_LINES = 3  # kind regards, the groomer, the firm


def font_folder() -> Path | None:
    """Where the installed matplotlib, which the planner brings along, keeps its DejaVu fonts; it is not loaded."""
    found = importlib.util.find_spec("matplotlib")
    for place in (found.submodule_search_locations or []) if found else []:
        folder = Path(place) / "mpl-data" / "fonts" / "ttf"
        if (folder / "DejaVuSerif.ttf").exists() and (folder / "DejaVuSerif-Bold.ttf").exists():
            return folder
    return None


def latin(words: str) -> str:
    """Words in the letters that a PDF reader has by itself; accents stay where Latin-1 has them, else they fall."""
    plain = words.translate({0x2013: "-", 0x2014: "-", 0x2018: "'", 0x2019: "'", 0x201C: '"', 0x201D: '"'})
    return "".join(_latin_letter(letter) for letter in plain)


def _latin_letter(letter: str) -> str:
    if ord(letter) < 256:
        return letter
    base = unicodedata.normalize("NFKD", letter).encode("latin-1", "ignore").decode("latin-1")
    return base or "?"


class Paper(FPDF):
    """A page with generous margins, one serif face, and a page number from the second page on."""

    def __init__(self, firm: Firm) -> None:
        super().__init__(format="letter" if firm.country in LETTER_PAPER else "A4")
        self.set_margins(MARGIN_MM, 22, MARGIN_MM)
        self.c_margin = 0
        self.set_auto_page_break(True, 24)
        folder = font_folder()
        self.face, self.has_font = ("DejaVu", True) if folder else ("Times", False)
        if folder:
            self.add_font("DejaVu", "", folder / "DejaVuSerif.ttf")
            self.add_font("DejaVu", "B", folder / "DejaVuSerif-Bold.ttf")

    def said(self, words: str) -> str:
        return words if self.has_font else latin(words)

    def footer(self) -> None:
        if self.page_no() > 1:
            self.set_y(-16)
            self.set_font(self.face, "", 9)
            self.set_text_color(*SOFT)
            self.cell(0, 6, self.said(_("Page %(number)d") % {"number": self.page_no()}), align="R")

    def paragraph(self, words: str, *, size: float = 10.5, bold: bool = False, after_mm: float = 2.2) -> None:
        self.set_font(self.face, "B" if bold else "", size)
        self.multi_cell(0, size * 0.53, self.said(words), new_x="LMARGIN", new_y="NEXT", align="L")
        self.ln(after_mm)

    def head(self, firm: Firm, date: dt.date) -> None:
        self.set_text_color(*WATER)
        self.set_font(self.face, "B", 15)
        self.cell(0, 8, self.said(firm.name), new_x="LMARGIN", new_y="NEXT")
        self.set_text_color(*SOFT)
        reach = "   ".join(part for part in (phone_words(firm.phone, firm.country), firm.email) if part)
        if reach:
            self.paragraph(reach, size=9.5, after_mm=0)
        self.set_draw_color(*WATER)
        self.set_line_width(0.5)
        self.line(MARGIN_MM, self.get_y() + 2.5, self.w - MARGIN_MM, self.get_y() + 2.5)
        self.ln(9)
        self.set_text_color(*SOFT)
        self.paragraph(formats.date_format(date, "l j F Y"), after_mm=5)
        self.set_text_color(*INK)

    def urgent(self, heading: str, paragraphs: list[str]) -> None:
        """What cannot wait, in bold words with a bar beside them."""
        self.set_text_color(*CARE)
        top = self.get_y()
        self.set_left_margin(MARGIN_MM + CARE_PADDING_MM)
        self.set_x(MARGIN_MM + CARE_PADDING_MM)
        self.ln(1)
        self.paragraph(heading, size=12, bold=True, after_mm=1)
        for words in paragraphs:
            self.paragraph(words, bold=True, after_mm=1.5)
        self.set_left_margin(MARGIN_MM)
        self.set_draw_color(*CARE)
        self.set_line_width(1.2)
        self.line(MARGIN_MM, top, MARGIN_MM, self.get_y())
        self.set_text_color(*INK)
        self.ln(4)


def letter_pdf(letter: Letter, firm: Firm) -> bytes:
    """The letter as the bytes of a PDF file; the same words make the same file."""
    paper, body = Paper(firm), letter.body
    paper.set_title(_("Letter of %(date)s") % {"date": formats.date_format(letter.date, "j F Y")})
    paper.set_author(firm.name)
    paper.set_lang(get_language() or "en")
    paper.set_creation_date(letter.reviewed_at or letter.made_at)
    paper.add_page()
    paper.head(firm, letter.date)
    paper.paragraph(body["greeting"], after_mm=4)
    for part in body["parts"]:
        _part(paper, part)
    paper.ln(3)
    for number, words in enumerate(body["closing"]):
        if number == len(body["closing"]) - SIGNED_LINES:
            paper.ln(3)
        paper.paragraph(words, after_mm=0.8)
    return bytes(paper.output())


def _part(paper: Paper, part: dict[str, object]) -> None:
    heading, paragraphs = str(part["heading"]), [str(words) for words in part["paragraphs"]]  # type: ignore[attr-defined]
    if part.get("urgent"):
        paper.urgent(heading, paragraphs)
        return
    if heading:
        if paper.will_page_break(22):
            paper.add_page()
        paper.ln(1.5)
        paper.paragraph(heading, size=12, bold=True, after_mm=0.8)
    for words in paragraphs:
        paper.paragraph(words)
