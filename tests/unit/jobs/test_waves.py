"""The order of units: the bench, one of each kind, a quarter at most, the rest; rooms stay sensed."""

from collections import Counter
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from fleet.jobs.waves import Candidate, key_of, next_units, plan_waves
from fleet.model.firmware import UnitUpdate, UpdateState, Wave
from fleet.model.house import RoomKind


def unit(number, key="R3 tracking 5.0", room="", kind=RoomKind.LIVING):
    return Candidate(f"S{number}", f"N{number:03}", key, room or f"room-{number}", kind)


def labels(updates, wave):
    return [update.label for update in updates if update.wave is wave]


def test_the_kind_of_a_unit_is_its_board_its_module_and_the_firmware_of_that():
    sheet = {"hardware.revision": "R3", "module.type": "static", "module.firmware": "5.1"}
    assert key_of(sheet) == "R3 static 5.1"
    assert key_of({}) == "? ? ?"


def test_units_on_the_bench_go_first():
    planned = plan_waves([unit(number) for number in range(8)], ["N005", "N002"])
    assert labels(planned, Wave.BENCH) == ["N002", "N005"]
    assert [update.wave for update in planned[:2]] == [Wave.BENCH] * 2


def test_without_a_bench_the_least_critical_unit_goes_first():
    units = [
        unit(0, kind=RoomKind.CIRCULATION),
        unit(1, kind=RoomKind.BATHROOM),
        unit(2, kind=RoomKind.GARAGE),
        unit(3, kind=RoomKind.BEDROOM),
    ]
    assert labels(plan_waves(units, ()), Wave.BENCH) == ["N002"]


def test_a_room_with_another_unit_misses_one_less_than_a_garage_with_one():
    units = [
        unit(0, kind=RoomKind.GARAGE),
        unit(1, room="hall", kind=RoomKind.CIRCULATION),
        unit(2, room="hall", kind=RoomKind.CIRCULATION),
    ]
    assert labels(plan_waves(units, ()), Wave.BENCH) == ["N001"]


def test_one_unit_of_each_kind_follows_the_least_critical_of_it():
    units = [unit(n, key=f"kind {n % 3}", kind=list(RoomKind)[n % 7]) for n in range(20)]
    planned = plan_waves(units, ["N000"])
    ones = [update for update in planned if update.wave is Wave.ONE_A_KEY]
    assert sorted(update.key for update in ones) == ["kind 0", "kind 1", "kind 2"]
    kinds = {one.serial: one.room_kind for one in units}
    assert RoomKind.CIRCULATION not in {kinds[update.serial] for update in ones}


def test_the_third_wave_is_a_quarter_of_what_is_left_and_the_rest_follows():
    planned = plan_waves([unit(number) for number in range(200)], ["N000"])
    sizes = Counter(update.wave for update in planned)
    assert [sizes[wave] for wave in Wave] == [1, 1, 49, 149]


def test_nobody_chosen_is_no_wave():
    assert plan_waves([], ()) == ()


@given(
    st.lists(
        st.tuples(st.sampled_from("ABC"), st.sampled_from("xyz"), st.sampled_from(list(RoomKind))),
        max_size=60,
    ),
    st.sets(st.integers(0, 59), max_size=3),
)
def test_every_unit_has_one_turn_and_no_early_wave_is_large(drawn, benched):
    units = [unit(n, key, room, kind) for n, (key, room, kind) in enumerate(drawn)]
    planned = plan_waves(units, {f"N{number:03}" for number in benched})
    assert sorted(update.serial for update in planned) == sorted(one.serial for one in units)
    assert [list(Wave).index(update.wave) for update in planned] == sorted(
        list(Wave).index(update.wave) for update in planned
    )
    ones = [update.key for update in planned if update.wave is Wave.ONE_A_KEY]
    assert len(ones) == len(set(ones))
    assert len(labels(planned, Wave.QUARTER)) <= max(1, len(units) // 4)


def waiting(number, room, wave=Wave.REST):
    return UnitUpdate(f"S{number}", f"N{number:03}", "k", wave, room=room)


def test_two_units_of_one_room_are_never_away_together():
    units = [waiting(0, "hall"), waiting(1, "hall"), waiting(2, "loft")]
    begun = next_units(units, (), 8)
    assert [update.label for update in begun] == ["N000", "N002"]
    assert next_units([units[1]], begun, 8) == ()
    assert next_units([units[1]], begun[1:], 8) == (units[1],)


def test_on_the_bench_units_share_no_room():
    assert len(next_units([waiting(0, ""), waiting(1, "")], (), 8)) == 2


def test_no_more_are_away_than_at_once():
    units = [waiting(number, f"room-{number}") for number in range(10)]
    away = tuple(replace(update, state=UpdateState.RUNNING) for update in units[:3])
    assert len(next_units(units[3:], away, 5)) == 2


def test_the_first_two_waves_go_one_by_one():
    for wave in (Wave.BENCH, Wave.ONE_A_KEY):
        units = [waiting(number, f"room-{number}", wave) for number in range(3)]
        assert next_units(units, (), 8) == (units[0],)
        assert next_units(units[1:], (units[0],), 8) == ()
