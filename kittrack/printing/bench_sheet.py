"""The bench sheet: bar codes for the few moves that gloved hands need, far enough apart to be scanned one at a time.

Source: design 7 (what the keys do), R20 (none of them overrides anything); `domain/moves`.
"""

from typing import Final

from kittrack.domain.moves import Move
from kittrack.printing.barcodes import pattern
from kittrack.printing.pages import TITLE, Flow, Paper
from kittrack.printing.pdf import write_pdf

_NAME: Final = "Bench sheet"
_MODULE_DOTS: Final = 6  # 0.508 mm of 300 dpi: read at arm's length (GS1 table 6 ends at 0.495 mm)
_HEIGHT_UM: Final = 20_000


def bench_sheet_pdf(*, paper: Paper = Paper.A4, footer: str = "") -> bytes:
    """The bench sheet as PDF, one page.

    Args:
        paper: the size of its page.
        footer: whose sheet it is and which copy.

    Raises:
        PrintError: the footer can't be printed.
    """
    flow = Flow(paper, subject="The bench sheet", running=_NAME, footer=footer)
    flow.title(_NAME, code="")
    flow.paragraph(
        "Scan a move instead of pressing its key. Cover the others with a hand. No move lets anything pass that a rule "
        "refuses, and none stands for a reading: the mark on a rotor, a seal, a measured value."
    )
    for move in Move:
        flow.space(TITLE)
        flow.symbol(
            pattern(move.value), name=move.called, words=move.meaning, module_dots=_MODULE_DOTS, height_um=_HEIGHT_UM
        )  # fmt: skip
    return write_pdf(enumerate(flow.pages()), flow.sheet, title=_NAME)
