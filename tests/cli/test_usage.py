"""Lines that say too little or two things at once are refused before a store is opened; areas list their verbs."""

import shlex

import pytest

from kittrack import __version__
from kittrack.__main__ import main
from kittrack.cli.exits import Exit
from kittrack.cli.verbs_count import VERBS as COUNT
from kittrack.cli.verbs_parts import VERBS as PARTS
from kittrack.domain import codes
from kittrack.errors import BadInput, NotFound
from kittrack.services.catalogue_specs import Mark, PartSpec
from kittrack.services.counting import Counted
from kittrack.services.label_contents import label_of
from kittrack.store.database import Store

NO_STORE = ["--store", "sqlite:////nowhere/at/all.kittrack", "--by", "Clerk One"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("hold place --part RB-18-CW --serial 0417 --reason cracks", "--serial twice"),
        ("kit build --bench B --revision QA --arm FR --group front", "give one of these"),
        (
            'weigh "piece=U1; mass=1 g; radius=9 mm" "piece=U2; mass=1; radius=9 mm" --scale S',
            "row 2, WEIGHINGS, mass: 1 has",
        ),
        ('weigh "piece=U1; mass=1; radius=9 mm" --scale S', "WEIGHINGS, mass: 1 has no unit"),
        ('tool add T torque --from 1 --to "2 N m"', "--from: 1 has no unit"),
        ("job open QA-01 look --arm FR --positions FL", "give one of these"),
        ("issue K000042-G J000031-6 --seal 1 --to T --second M", "give --override and --second"),
        ("return leftovers J000031-6 Y000004-T:torn", "After the colon"),
        ("map test QA-01 FR --source x --second I", "POSITION=CW or CCW"),
        ("inspect pieces Y000004-T serial:0417", "NAME=VALUE"),
    ],
)
def test_half_a_choice_and_two_choices_are_named(
    line: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*shlex.split(line), *NO_STORE]) == Exit.USAGE
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    ("line", "said"), [("recall", "give a code"), ("recall --serial 1 --part P", "--serial twice")]
)
def test_a_question_about_nothing_is_usage(line: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*shlex.split(line), *NO_STORE[:2]]) == Exit.USAGE
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("typed", [["kit"], ["kit", "--help"], ["kit", "-h"]])
def test_an_area_lists_its_verbs(typed: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(typed) == Exit.DONE
    out = capsys.readouterr().out
    assert "kittrack kit build" in out
    assert "kittrack kit seal" in out
    assert "kittrack issue" not in out


@pytest.mark.parametrize("typed", [["--version"], ["--store", "sqlite:///x", "--version"]])
def test_the_version_is_told_wherever_it_is_asked_for(
    typed: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(typed) == Exit.DONE
    assert capsys.readouterr().out == f"kittrack {__version__}\n"


def test_a_part_takes_its_unit_from_its_pack() -> None:
    build = next(v.build for v in PARTS if v.words == "part add")
    assert build is not None
    common = {"number": "P", "name": "n", "kind": "blade", "maker": "M", "paper_class": "c"}
    spec = build(common | {"pack": (10_000, "volume_ul"), "marks": (Mark(text="R", sense="CW"),)})["spec"]
    assert isinstance(spec, PartSpec)
    assert (spec.pack_quantity, spec.unit, spec.marks[0].sense) == (10_000, "volume_ul", "CW")
    assert build(common)["spec"].pack_quantity == 1


def test_a_count_says_condition_and_what_a_set_lacks() -> None:
    enter = next(v for v in COUNT if v.words == "count enter")
    read = {a.name: a.read for a in enter.arguments}
    assert read["entries"]("Y000007-R=4:on hold") == Counted("Y000007-R", 4, "on hold")
    short = read["short"]("R000012-3=U000017-A, U000018-8")
    assert short == Counted("R000012-3", 1, missing=("U000017-A", "U000018-8"))
    assert enter.build is not None
    assert enter.build({"short": (short,)})["entries"] == (short,)


def test_a_label_of_what_the_store_does_not_hold_is_not_found(store: Store) -> None:
    for kind in codes.Kind:
        code = codes.make_code(kind, codes.next_number(kind, after=900_000))
        with pytest.raises((NotFound, BadInput)), store.reading() as read:
            label_of(read, code)
