import pytest

from fleet.cli.saying import PASSPHRASE_FILE, ask_passphrase, table
from fleet.cli.simulated_house import own_address
from fleet.model.errors import PlanError


def test_columns_are_as_wide_as_they_need_and_lines_end_without_blanks():
    assert table([("a", "bb"), ("ccc", "d")]) == "a    bb\nccc  d"


def test_a_passphrase_comes_from_the_file_that_is_named(tmp_path):
    path = tmp_path / "phrase"
    path.write_bytes(b"correct horse\n")
    assert ask_passphrase({PASSPHRASE_FILE: str(path)}) == b"correct horse"


def test_without_a_terminal_nobody_is_asked(monkeypatch):
    monkeypatch.setattr("sys.stdin.isatty", lambda: False, raising=False)
    with pytest.raises(PlanError, match=PASSPHRASE_FILE):
        ask_passphrase({})


def test_a_demo_has_a_loopback_address_of_its_own():
    first, *rest = own_address().split(".")
    assert first == "127"
    assert len(rest) == 3
    assert all(0 <= int(part) <= 255 for part in rest)
