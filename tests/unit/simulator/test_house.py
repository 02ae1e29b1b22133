"""A house's folder that holds together, and each way in which one doesn't."""

from dataclasses import replace

import msgspec
import pytest

from fleet.model.errors import PlanError
from fleet.model.geometry import Segment
from fleet.simulator.house import load_house
from fleet.simulator.truth import LeakyWall, Sitter, Truth
from tests.unit.simulator.small_house import DESK, PLAN, STATIC, TRACKING, TRUTH


def written(folder, truth=TRUTH):
    (folder / "plan.json").write_bytes(msgspec.json.encode(PLAN))
    (folder / "truth.json").write_bytes(msgspec.json.encode(truth))
    return folder


def test_a_house_is_read_as_it_was_written(tmp_path):
    assert load_house(written(tmp_path)) == (PLAN, TRUTH)


SLANTED = replace(DESK, outline_mm=((0, 0), (500, 100), (500, 900), (0, 800)))
SIX = tuple(replace(DESK, key=str(number)) for number in range(6))
LINE = Segment((0, 0), (0, 1))


@pytest.mark.parametrize(
    ("truth", "said"),
    [
        (Truth((replace(TRACKING, room="attic"),)), "units[0].room is 'attic'"),
        (Truth((replace(TRACKING, areas=(SLANTED,)),)), "units[0].areas[0].outline_mm"),
        (Truth((replace(TRACKING, areas=SIX),)), "units[0].areas holds 6"),
        (Truth((replace(STATIC, areas=(DESK,)),)), "units[0].areas holds 1"),
        (Truth((), (LeakyWall("ground", LINE, "attic", 1),)), "leaky_walls[0].seen_from"),
        (Truth((), (LeakyWall("cellar", LINE, "study", 1),)), "leaky_walls[0].floor"),
        (Truth((), sitters=(Sitter("attic", 1),)), "sitters[0].room"),
        (replace(TRUTH, format="another/1"), "its format is 'another/1'"),
    ],
)
def test_a_truth_that_points_to_nothing_is_refused_by_member(tmp_path, truth, said):
    with pytest.raises(PlanError) as refused:
        load_house(written(tmp_path, truth))
    assert said in str(refused.value)
    assert str(tmp_path / "truth.json") in str(refused.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "no JSON"),
        ("[]", "no JSON object"),
        ("{}", "units"),
        ('{"units": [{"serial": 5}]}', "$.units[0].serial"),
    ],
)
def test_a_broken_file_is_named_with_what_is_wrong(tmp_path, text, said):
    written(tmp_path)
    (tmp_path / "truth.json").write_text(text, encoding="utf-8")
    with pytest.raises(PlanError, match=r"truth\.json") as refused:
        load_house(tmp_path)
    assert said in str(refused.value)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(PlanError, match=r"plan\.json"):
        load_house(tmp_path)
