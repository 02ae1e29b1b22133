"""Which units the verb `identify` means, and when the bell sounds."""

import argparse
import io

import pytest

from fleet.cli import identify
from fleet.model.errors import PlanError
from tests.inventories import small_plan


def parsed(*words):
    parser = argparse.ArgumentParser()
    identify.add_arguments(parser)
    return parser.parse_args(words)


def test_units_come_in_the_order_named_or_all_in_plan_order():
    plan = small_plan()
    assert [line.label for line in identify.chosen(plan, ["U3", "U1"])] == ["U3", "U1"]
    assert [line.label for line in identify.chosen(plan, [])] == ["U1", "U3"]


@pytest.mark.parametrize("label", ["U2", "U9", ""])
def test_a_label_without_a_serial_is_refused(label):
    with pytest.raises(PlanError, match="no unit of that label with a serial"):
        identify.chosen(small_plan(), ["U1", label])


def test_labels_or_all_must_be_named_and_not_both():
    assert parsed("U1", "U3").labels == ["U1", "U3"]
    assert parsed("--all", "--seconds", "9").seconds == 9
    for words in ([], ["--all", "U1"], ["--all", "--seconds", "0"], ["--all", "--seconds", "x"]):
        with pytest.raises(SystemExit) as ended:
            parsed(*words)
        assert ended.value.code == 2


@pytest.mark.parametrize(("terminal", "rung"), [(True, "\a"), (False, "")])
def test_the_bell_sounds_at_a_terminal_alone(monkeypatch, terminal, rung):
    errors = io.StringIO()
    monkeypatch.setattr(errors, "isatty", lambda: terminal)
    monkeypatch.setattr("sys.stderr", errors)
    identify.ring()
    assert errors.getvalue() == rung
