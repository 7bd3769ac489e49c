"""The settings of terminals: kept privately, read back as written, faults of the file named."""

import stat
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kittrack.domain.scanner_settings import ScannerSettings, check_settings
from kittrack.errors import BadInput
from kittrack.services.terminals import (
    all_settings,
    keep_settings,
    settings_of,
    terminal_name,
    terminals_path,
)


@pytest.fixture(autouse=True)
def own_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "deep" / "terminals.toml"
    monkeypatch.setenv("KITTRACK_TERMINALS", str(path))
    monkeypatch.delenv("KITTRACK_TERMINAL", raising=False)
    return path


def test_a_terminal_without_settings_has_those_of_a_new_scanner(own_file: Path) -> None:
    assert settings_of() == ScannerSettings()
    assert all_settings() == {}
    assert not own_file.exists()


def test_settings_are_kept_for_each_terminal_and_for_its_owner_only(
    own_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench, counter = ScannerSettings("!", "#\t", ("^]", '"\\')), ScannerSettings(suffix="ü\x1b")
    keep_settings(bench, terminal="bench 2")
    monkeypatch.setenv("KITTRACK_TERMINAL", "counter")
    keep_settings(counter)
    assert settings_of() == counter
    assert settings_of("bench 2") == bench
    assert stat.S_IMODE(own_file.stat().st_mode) == 0o600
    assert [file.name for file in own_file.parent.iterdir()] == [own_file.name]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.text(max_size=12), st.text(max_size=12), st.lists(st.text(min_size=1, max_size=6), max_size=4))
def test_whatever_a_scanner_sends_is_read_back_as_kept(
    prefix: str, suffix: str, stand_ins: list[str]
) -> None:
    own = ScannerSettings(prefix, suffix, tuple(stand_ins))
    if check_settings(own):
        with pytest.raises(BadInput):
            keep_settings(own, terminal="bench")
    else:
        keep_settings(own, terminal="bench")
        assert settings_of("bench") == own


@pytest.mark.parametrize("name", ["x" * 61, "a\x1bb", " a"])
def test_a_name_that_is_none_is_refused(name: str, own_file: Path) -> None:
    with pytest.raises(BadInput):
        keep_settings(ScannerSettings(), terminal=name)
    assert not own_file.exists()


def test_what_is_no_character_is_refused(own_file: Path) -> None:
    with pytest.raises(BadInput, match="no character"):
        keep_settings(ScannerSettings(prefix="\ud800"), terminal="bench")
    assert not own_file.exists()


@pytest.mark.parametrize(
    "text",
    [
        "[bench", '"bench" = 3', "[bench]\ncolour = 1", "[bench]\nprefix = 3", '[bench]\ngs_stand_ins = "x"',
        '[bench]\ngs_stand_ins = ["A"]', "[bench]\ngs_stand_ins = [3]", '[bench]\nprefix = "' + "x" * 30 + '"', b"\xff",
    ],
)  # fmt: skip
def test_a_damaged_file_is_named_and_never_overwritten(text: str | bytes, own_file: Path) -> None:
    own_file.parent.mkdir()
    content = text if isinstance(text, bytes) else text.encode()
    own_file.write_bytes(content)
    with pytest.raises(BadInput) as refused:
        settings_of("bench")
    assert refused.value.problems[0].source == str(own_file)
    with pytest.raises(BadInput):
        keep_settings(ScannerSettings(), terminal="bench")
    assert own_file.read_bytes() == content


def test_a_folder_in_the_files_place_is_a_fault_in_words(own_file: Path) -> None:
    own_file.mkdir(parents=True)
    with pytest.raises(BadInput, match="can't be read"):
        settings_of()


def test_a_place_that_takes_no_file_is_a_fault_in_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("KITTRACK_TERMINALS", str(tmp_path / "file" / "terminals.toml"))
    with pytest.raises(BadInput, match="can't be written"):
        keep_settings(ScannerSettings(suffix="#"), terminal="bench")


def test_a_terminal_is_named_by_its_environment_else_its_computer(monkeypatch: pytest.MonkeyPatch) -> None:
    assert terminal_name()
    monkeypatch.setenv("KITTRACK_TERMINAL", " bench 2 ")
    assert terminal_name() == "bench 2"


def test_the_file_lies_in_the_users_configuration_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("KITTRACK_TERMINALS")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert terminals_path() == tmp_path / "kittrack" / "terminals.toml"
