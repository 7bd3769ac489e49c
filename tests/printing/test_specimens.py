"""The specimen files beside the stocks are what the program draws today."""

from pathlib import Path

import pypdfium2
import pytest

from kittrack.printing.specimens import main, specimen_files
from tests.printing.rendering import by_pdfium, page_text

FOLDER = Path(__file__).resolve().parents[2] / "labels" / "specimens"
FILES = dict(specimen_files())


def test_the_folder_holds_these_files_and_no_others() -> None:
    assert {file.name for file in FOLDER.iterdir()} == set(FILES)


@pytest.mark.parametrize("name", FILES)
def test_a_specimen_looks_as_drawn_today(name: str) -> None:
    """Pages are compared as seen, not by bytes: another version of the PDF library may write others."""
    kept = (FOLDER / name).read_bytes()
    for old, new in zip(by_pdfium(kept, dpi=150), by_pdfium(FILES[name], dpi=150), strict=True):
        assert old.size == new.size
        assert old.tobytes() == new.tobytes(), (
            "write them again: python -m kittrack.printing.specimens labels/specimens"
        )
    assert page_text(kept) == page_text(FILES[name])


@pytest.mark.parametrize("name", FILES)
def test_a_specimen_embeds_its_typeface(name: str) -> None:
    document = pypdfium2.PdfDocument(FOLDER / name)
    try:
        fonts = {
            item.get_font().get_base_name()
            for page in document
            for item in page.get_objects()
            if isinstance(item, pypdfium2.PdfTextObj)
        }
    finally:
        document.close()
    assert fonts
    assert all("DejaVuSansMono" in font for font in fonts)


def test_the_files_can_be_written_again(tmp_path: Path) -> None:
    main(tmp_path / "new")
    assert {file.name: file.read_bytes() for file in (tmp_path / "new").iterdir()} == FILES
