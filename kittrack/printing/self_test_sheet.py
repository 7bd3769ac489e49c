"""The scanner self-test sheet: one text as bars and as a matrix, which shows what a scanner and a computer do to scans.

Source: design C14; `domain/self_test` judges what arrives.
"""

from typing import Final

from kittrack.domain.keyboards import SELF_TEST
from kittrack.printing.barcodes import Symbol, pattern
from kittrack.printing.pages import TITLE, Flow, Paper
from kittrack.printing.pdf import write_pdf

_NAME: Final = "Scanner self-test"
_STEPS: Final = (
    "1. Type `kittrack scanner test` on the computer that the scanner types into, then Enter.",
    "2. Scan one of the two symbols below: the bars with a laser or line scanner, either with a camera scanner.",
    "3. Do what it says, and scan again until it says that nothing needs to be set.",
)
_MODULE_DOTS: Final = 4  # 0.339 mm of 300 dpi
_MATRIX_DOTS: Final = 6  # 0.508 mm
_HEIGHT_UM: Final = 25_000


def self_test_sheet_pdf(*, paper: Paper = Paper.A4) -> bytes:
    """The self-test sheet as PDF, one page; the same for every store."""
    flow = Flow(paper, subject="The self-test sheet", running=_NAME, footer="kittrack")
    flow.title(_NAME, code="")
    for step in _STEPS:
        flow.paragraph(step)
    shown = SELF_TEST.replace("\x1d", "<GS>")
    for symbol, dots in ((Symbol.CODE_128, _MODULE_DOTS), (Symbol.DATA_MATRIX, _MATRIX_DOTS)):
        flow.space(TITLE)
        flow.symbol(
            pattern(SELF_TEST, symbol=symbol, controls="\x1d"), name=f"As {symbol.value}",
            words=f"Holds {shown}, where <GS> is one control character.", module_dots=dots, height_um=_HEIGHT_UM,
        )  # fmt: skip
    return write_pdf(enumerate(flow.pages()), flow.sheet, title=_NAME)
