"""Figures worked out and trims recorded by lines of the command line."""

import json
from collections.abc import Callable

import pytest

from kittrack.__main__ import main
from kittrack.cli.exits import Exit
from kittrack.store.database import Store, open_store
from kittrack.store.records import Part
from tests.aircraft_scene import TORQUE_TOOL
from tests.factories import CLERK, CW_BLADE, MANAGER, after, blades_on_shelf

Line = Callable[..., tuple[Exit, str, str]]


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> Line:
    def run(*words: str, store: bool = True) -> tuple[Exit, str, str]:
        capsys.readouterr()
        code = main([*words, *(["--store", world_url] if store else [])])
        shown = capsys.readouterr()
        return Exit(code), shown.out, shown.err

    return run


def test_a_pair_is_trimmed_and_weighed_again(world_url: str, line: Line) -> None:
    store: Store = open_store(world_url)
    with store.act("change a part", by=MANAGER, at=after(1)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.update(part, trim_allowed=1)
    light, heavy = blades_on_shelf(store, CW_BLADE, 2, at=after(2), pairs=False)
    store.close()
    who = ["--by", CLERK, "--at", after(3).isoformat()]
    readings = [f"piece={light}; mass=42 g; radius=100 mm", f"piece={heavy}; mass=42.1 g; radius=100 mm"]
    assert line("weigh", *readings, "--scale", "Scale 1", *who)[0] is Exit.DONE
    asked = ["trim", "propose", light, heavy, "--radius", "80 mm", "--one-stop"]
    code, out, _ = line(*asked)
    assert code is Exit.DONE
    assert light in out
    assert "add" in out
    found = json.loads(line(*asked, "--json")[1])
    mass_mg = found["blades"][0]["mass_ug"] / 1000
    trim = f"piece={light}; mass={mass_mg} mg; radius=80 mm; takes away=no"
    code, out, err = line("trim", "record", trim, "--reason", "page 12", *who)
    assert (code, out.split()) == (Exit.DONE, [light])
    assert "again" in err
    code, _, err = line(*asked)
    assert code is Exit.USAGE
    assert "not weighed" in err


def test_figures_need_no_store(line: Line) -> None:
    code, out, _ = line("figure", "permissible", "G 6.3", "--mass", "42 g", "--speed", "4200", store=False)
    assert code is Exit.DONE
    assert "U = 0.601606 g mm" in out  # 1000 x 6.3 x 0.042 / 439.823, by hand
    code, out, _ = line("figure", "screw", "M3", "A2-70", "--head", "socket head", store=False)
    assert code is Exit.DONE
    assert "key = 2.5 mm" in out


def test_a_makers_figures_become_a_tolerance(line: Line) -> None:
    assert (
        "U = 2.88 g mm" in line("figure", "mass", "30 mg", "--radius", "96 mm", store=False)[1]
    )  # 0.03 x 96
    assert "U = 4.2 g mm" in line("figure", "share", "0.1 %", "--moment", "4200 g mm", store=False)[1]
    assert line("figure", "share", "a tenth", "--moment", "4200 g mm", store=False)[0] is Exit.USAGE
    out = line("figure", "grade", "0.602 g mm", "--mass", "42 g", "--speed", "4200", store=False)[1]
    assert "G = 6.30413 mm/s" in out  # 0.602 x 439.823 / 42, by hand


@pytest.mark.parametrize("grade", ["", "G", "-1", "nan", "1e30", "6.3333", "six"])
def test_what_is_no_grade_is_told(line: Line, grade: str) -> None:
    assert (
        line("figure", "permissible", f" {grade}", "--mass", "42 g", "--speed", "4200", store=False)[0]
        is Exit.USAGE
    )


def test_a_tools_reading_is_judged(line: Line) -> None:
    code, out, _ = line("figure", "tool", TORQUE_TOOL, "--set", "0.85 N m", "--reference", "0.8 N m")
    assert code is Exit.DONE
    assert "NOT within" in out
