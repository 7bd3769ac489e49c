"""Lists a page at a time: every list is whole page by page, filtered by words that stand for themselves."""

import pytest

from kittrack.errors import NotFound
from kittrack.queries import pages
from kittrack.queries.pages import LISTS, Row, counts, page
from kittrack.services import holding, matching
from kittrack.services.holding import Scope
from kittrack.store.database import Store
from kittrack.store.records import Part, Piece
from tests.aircraft_scene import Scene
from tests.factories import (
    CLERK,
    CW_BLADE,
    LOCKER,
    MANAGER,
    SCREW,
    after,
    blades_on_shelf,
    put_bottle,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)


def page_by_page(store: Store, of: str, *, limit: int) -> list[Row]:
    found: list[Row] = []
    while some := page(store, of=of, after=found[-1][0] if found else "", limit=limit):
        assert len(some) <= limit
        found += some
    return found


def test_every_list_is_whole_page_by_page_and_as_long_as_it_is_counted(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    stock_up(store, at=scene.now, sets=4)
    put_bottle(store, volume_ul=10_000, at=scene.now, expires_on="2027-01-01")
    for seal in ("0001", "0002"):
        sealed_kit(store, at=scene.now, seal=seal)
    for lot in ("A", "B", "C"):
        line = put_in_stock(store, SCREW, 8, lot_code=lot, condition="on hold", place="goods-in Home", kind="goods-in", at=scene.now)  # fmt: skip
        hold = Scope(code=line)
        holding.place_hold(store, scope=hold, reason="doubt", reference=lot, by=CLERK, at=scene.now)
        put_in_stock(store, SCREW, 8, lot_code=f"{lot}2", place="goods-in Home", kind="goods-in", at=scene.now)  # fmt: skip
    blades_on_shelf(store, CW_BLADE, 4, at=scene.now, lot_code="L")
    for code in sets_on_shelf(store, CW_BLADE, 2, at=scene.now, lot_code="M"):
        matching.break_set(store, rotor_set=code, reason="cracked", by=CLERK, at=scene.now)
    several = set()
    for of in LISTS:
        whole = list(page(store, of=of))
        assert page_by_page(store, of, limit=1) == page_by_page(store, of, limit=2) == whole, of
        assert counts(store, names=[of]) == ((of, len(whole)),)
        if len(whole) > 1:
            several.add(of)
    assert several >= {
        "waiting", "to put away", "shelf", "pieces on hold", "loose blades", "lines", "lots", "sets", "orphans", "kits", "holds",
        "people", "places", "airframes", "parts", "tools",
    }  # fmt: skip


def test_the_newest_stand_first_where_a_list_says_so(store: Store) -> None:
    first, second = (put_in_stock(store, SCREW, 8, lot_code=lot, at=after(1)) for lot in ("A", "B"))
    assert [row[0] for row in page(store, of="lines")] == [second, first]
    assert [row[0] for row in page(store, of="lines", after=second)] == [first]
    assert page(store, of="lines", after=first) == ()


def test_the_page_after_a_row_that_left_the_list_goes_on_where_it_stood(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 4, at=after(1))
    matching.make_set_of_pair(store, blades=blades[:2], by=CLERK, at=after(2))
    assert [row[0] for row in page(store, of="loose blades", after=blades[1])] == list(blades[2:])


def test_a_row_that_never_was_is_told(store: Store) -> None:
    with pytest.raises(NotFound, match="U000001-6 is not in this list any more; press Esc"):
        page(store, of="loose blades", after="U000001-6")


def test_a_page_has_one_row_at_the_least_and_no_more_than_the_most(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pages, "_MOST", 3)
    assert [len(page(store, of="parts", limit=limit)) for limit in (-1, 0, 1, 3, 4)] == [1, 1, 1, 3, 3]


# ---- filters -------------------------------------------------------------------------------------


def found(store: Store, text: str) -> list[str]:
    return [row[2] for row in page(store, of="parts", text=text)]


def name_part(store: Store, name: str) -> None:
    with store.act("name", by=MANAGER, at=after(1)) as act:
        part = act.find(Part, number=LOCKER)
        assert part is not None
        act.update(part, name=name)


def test_every_word_of_a_filter_stands_somewhere_in_the_row_capitals_or_not(store: Store) -> None:
    assert found(store, f"BLADE {CW_BLADE[:4].lower()}")[0] == CW_BLADE
    assert found(store, "blade screw") == []
    assert found(store, "  ") == found(store, "")


@pytest.mark.parametrize(
    ("text", "is_found"),
    [("50%_b", True), ("5%b", False), ("50%a", False), ("!x", True), ("a!x", False), ("\\y", True), ("\\\\y", False)],
)  # fmt: skip
def test_signs_of_a_filter_stand_for_themselves(store: Store, text: str, is_found: bool) -> None:
    name_part(store, "50%_b !x \\y")
    assert found(store, text) == ([LOCKER] if is_found else [])


@pytest.mark.parametrize("text", ["Öl", "öl", "ÖL", "größe", "Größe", "ärmel", "ÄRMEL", "Ärmel", "öl größe"])
def test_letters_beyond_ascii_are_found_capitals_or_not(store: Store, text: str) -> None:
    name_part(store, "Öl für ÄRMEL, Größe 2")
    assert found(store, text) == [LOCKER]


def test_a_filter_goes_on_over_the_pages(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 4, at=after(1))
    with store.act("serials", by=CLERK, at=after(2)) as act:
        for number, code in enumerate(blades):
            one = act.find(Piece, code=code)
            assert one is not None
            act.update(one, serial=f"{'AB'[number % 2]}-{number}")
    assert [r[0] for r in page(store, of="loose blades", text="a-", limit=1)] == [blades[0]]
    assert [r[0] for r in page(store, of="loose blades", text="a-", after=blades[0])] == [blades[2]]
