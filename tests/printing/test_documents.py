"""Documents: every word on paper, pages that can be told apart, bars that read."""

from collections import defaultdict
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kittrack.errors import PrintError
from kittrack.printing.documents import Caution, Document, Paper, Table, _set, document_pdf
from kittrack.printing.drawing import Bars, Box, Drawing, Text
from kittrack.printing.fonts import CAP_HEIGHT_EM, text_width
from kittrack.printing.pages import column_widths
from tests.printing.rendering import RENDERERS, codes, page_text, renderer

MARGIN_DOTS = 15 / 25.4 * 300
VOUCHER = Document(
    title="Issue voucher",
    code="V000011-M",
    facts=(("Kit", "K000042-A, whole"), ("Received by", "Żaneta Łuk-Müller")),
    tables=(
        Table(
            "Contents",
            ("Sense", "Part", "Pieces"),
            (("CW", "BL-18 blade", "4"), ("CCW", "BL-18 blade", "4"), ("", "screws M3 x 8", "16")),
            right=frozenset({"Pieces"}),
            total=("", "all", "24"),
        ),
        Table("Overrides", ("Rule", "By"), ()),
    ),
    cautions=((Caution.CAUTION, "Read the mark on the rotor itself."), (Caution.NOTE, "Keep for two years.")),
    signatures=("Given by", "Received by"),
    footer="printed 2026-11-25 10:00 +01:00 for A. Adler",
)


def drawn(document: Document, paper: Paper = Paper.A4) -> list[Drawing]:
    return list(_set(document, paper).pages())


def check_pages(pages: list[Drawing]) -> None:
    """All marks inside the margins, and no two texts over one another."""
    for page in pages:
        rows = defaultdict(list)
        for mark in page.marks:
            if isinstance(mark, Text):
                rows[mark.baseline].append(mark)
                assert mark.x >= MARGIN_DOTS
                assert mark.x + text_width(len(mark.text), size=mark.size) <= page.width - MARGIN_DOTS + 1
                assert mark.baseline - CAP_HEIGHT_EM * mark.size >= MARGIN_DOTS
                assert mark.baseline <= page.height - MARGIN_DOTS
            if isinstance(mark, Box):
                assert mark.x + mark.width <= page.width - MARGIN_DOTS + 1
                assert mark.y + mark.height <= page.height - MARGIN_DOTS
        for texts in rows.values():
            ordered = sorted(texts, key=lambda text: text.x)
            for before, after in pairwise(ordered):
                assert before.x + text_width(len(before.text), size=before.size) < after.x


def squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("paper", Paper)
def test_every_word_is_on_the_paper_in_reading_order(paper: Paper) -> None:
    (page,) = page_text(document_pdf(VOUCHER, paper=paper))
    words = [
        "Issue voucher",
        "Kit",
        "K000042-A, whole",
        "Received by",
        "Żaneta Łuk-Müller",
        "Contents",
        "Sense",
        "CW",
        "BL-18 blade",
        "CCW",
        "screws M3 x 8",
        "16",
        "all",
        "24",
        "Overrides",
        "Rule",
        "none",
        "CAUTION: Read the mark on the rotor itself.",
        "NOTE: Keep for two years.",
        "Given by",
        "signature",
    ]
    text, at = squeezed(page), 0
    for word in words:
        at = text.find(squeezed(word), at)
        assert at >= 0, word
    assert squeezed("page 1 of 1") in text
    assert squeezed(VOUCHER.footer) in text
    check_pages(drawn(VOUCHER, paper))


@pytest.mark.parametrize("by", RENDERERS)
@pytest.mark.parametrize("dpi", [200, 300, 600])
def test_the_number_of_a_document_reads_back(by: str, dpi: int) -> None:
    (page,) = renderer(by)(document_pdf(VOUCHER), dpi=dpi)
    assert codes(page) == ["V000011-M"]


def test_a_document_without_a_number_has_no_bars() -> None:
    pages = drawn(Document("Recall account"))
    assert not [mark for page in pages for mark in page.marks if isinstance(mark, Bars)]


def test_a_long_table_repeats_its_titles_and_counts_its_pages() -> None:
    rows = tuple((f"R{n:06}", "CW", f"row {n}") for n in range(400))
    document = Document(
        "Recall account", "V000011-M", tables=(Table("Pieces", ("Set", "Sense", "Note"), rows),)
    )
    pages = page_text(document_pdf(document))
    assert len(pages) > 3
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert squeezed("Set Sense Note") in squeezed(page)
        assert "Recall account V000011-M" in page or number == 1
        assert ("Pieces (continued)" in page) == (number > 1)
    whole = squeezed("".join(pages))
    assert all(squeezed(f"R{n:06} CW row {n}") in whole for n in range(400))
    check_pages(drawn(document))


def test_a_total_stays_with_its_line_and_is_never_alone_under_it() -> None:
    for count in range(40, 80):
        rows = tuple((f"part {n}", "1") for n in range(count))
        table = Table("Parts", ("Part", "Pieces"), rows, total=("sum", str(count)))
        page = drawn(Document("Count", tables=(table,)))[-1]
        said = [mark.text for mark in page.marks if isinstance(mark, Text)]
        assert said[said.index("sum") + 1] == str(count)
        assert "Pieces" in said


def test_numbers_stand_at_the_right_edge_of_their_column() -> None:
    (page,) = drawn(VOUCHER)
    ends = {
        round(mark.x + text_width(len(mark.text), size=mark.size), 2)
        for mark in page.marks
        if isinstance(mark, Text) and mark.text in {"Pieces", "4", "16", "24"}
    }
    assert len(ends) == 1


def test_a_cell_longer_than_a_page_runs_on() -> None:
    words = " ".join(f"word{n}" for n in range(3000))
    document = Document("Fit record", tables=(Table("Notes", ("No", "Text"), (("1", words), ("2", "end"))),))
    pages = page_text(document_pdf(document))
    assert len(pages) > 1
    found = squeezed("".join(pages))
    assert all(f"word{n}" in found for n in range(0, 3000, 7))
    check_pages(drawn(document))


def test_text_is_data_and_not_markup() -> None:
    text = "<b>&amp;</b> <para> %s {0}"
    (page,) = page_text(
        document_pdf(Document("Job", facts=(("Note", text),), cautions=((Caution.NOTE, text),)))
    )
    assert squeezed(page).count(squeezed(text)) == 2


@pytest.mark.parametrize(
    "document",
    [
        Document("李"),
        Document("Job", facts=(("Name", "שרה"),)),
        Document("Job", tables=(Table("T", ("A",), (("\x1b[31m",),)),)),
        Document("Job", footer="\u202e"),
        Document("Job", signatures=("\U0001f681",)),
    ],
)
def test_a_character_without_a_glyph_is_refused_and_never_a_black_square(document: Document) -> None:
    with pytest.raises(PrintError, match=r"has U\+"):
        document_pdf(document)


def test_a_row_with_a_cell_too_few_is_refused() -> None:
    table = Table("Contents", ("A", "B"), (("1",),))
    with pytest.raises(PrintError, match="row of 1 cells in the table Contents of 2 columns"):
        document_pdf(Document("Job", tables=(table,)))


def test_more_columns_than_the_paper_holds_are_refused() -> None:
    columns = tuple(f"c{n}" for n in range(40))
    with pytest.raises(PrintError, match="40 columns, too many"):
        document_pdf(Document("Job", tables=(Table("Wide", columns, (columns,)),)))


def test_words_stay_whole_where_the_longest_of_each_column_fit() -> None:
    rows = ["condition", "where"], ["serviceable", "removed-parts cage of the Harbour Stores"]
    assert column_widths(rows, 40, subject="x") == [11, 27]
    assert column_widths([["m" * 30, "m" * 30]], 40, subject="x") == [19, 19], (
        "words are cut where they must be"
    )


def test_where_words_have_to_be_cut_only_the_longest_are() -> None:
    rows = [["m" * 60, "unserviceable", "hold cage"]]
    assert column_widths(rows, 40, subject="x") == [19, 13, 4]


def test_a_table_whose_words_need_room_is_set_smaller_and_no_word_is_cut() -> None:
    names = ("Sense", "Part", "Quantity", "Place", "State", "Condition", "Line", "Lot code", "Expires")
    cells = (
        "CCW", "PEN-STRIPE-WHITE", "17.536 mL", "removed-parts cage Harbour Stores", "at a bench or in a kit being built",
        "unserviceable", "Y000128-J", "unknown", "2026-12-15 EXPIRED",
    )  # fmt: skip
    document = Document("Stock", tables=(Table("Lines", names, (cells,)), Table("Few", ("A",), (("b",),))))
    pages = drawn(document)
    check_pages(pages)
    texts = [mark for page in pages for mark in page.marks if isinstance(mark, Text)]
    said = {mark.text for mark in texts}
    assert {"removed-parts", "unserviceable", "EXPIRED"} <= {word for text in said for word in text.split()}
    size = {mark.text: mark.size for mark in texts}
    assert size["CCW"] < size["b"], "the table after it has its own size"


def test_a_number_too_long_for_bars_is_refused() -> None:
    with pytest.raises(PrintError, match="too long a number"):
        document_pdf(Document("Job", "X" * 48))


def test_the_same_document_gives_the_same_bytes() -> None:
    assert document_pdf(VOUCHER) == document_pdf(VOUCHER)


CELLS = st.text(st.characters(codec="latin-1", exclude_categories=["Cc", "Cf"]), max_size=90)


@settings(max_examples=60, deadline=None)
@given(
    title=CELLS,
    rows=st.integers(1, 8).flatmap(
        lambda count: st.lists(st.tuples(*[CELLS] * count), min_size=1, max_size=30).map(tuple)
    ),
    footer=st.text("abc ", max_size=300),
    paper=st.sampled_from(Paper),
)
def test_any_table_is_set_whole(
    title: str, rows: tuple[tuple[str, ...], ...], footer: str, paper: Paper
) -> None:
    document = Document(title, "V000011-M", tables=(Table(title, rows[0], rows[1:]),), footer=footer)
    pages = drawn(document, paper)
    check_pages(pages)
    said = squeezed("".join(mark.text for page in pages for mark in page.marks if isinstance(mark, Text)))
    widest = max(len(row) for row in rows)
    if widest == 1:  # with more columns, a cell's rows stand between those of its neighbours
        assert all(squeezed(row[0]) in said for row in rows)
    letters = sorted(squeezed("".join(cell for row in rows for cell in row)))
    remaining = list(said)
    for letter in letters:
        remaining.remove(letter)
