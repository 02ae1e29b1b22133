"""Planning a swap: what carries over, what is dropped and why, what lapses, what is asked."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from fleet.jobs.swap_lapses import LapseKind, SwapEvidence, lapses_of
from fleet.jobs.swap_rows import Fate
from fleet.jobs.swap_signs import SwapKind, kind_of, silent_serials, swap_signs
from fleet.jobs.swapping import SiteRules, plan_swap
from fleet.model.errors import PlanError
from fleet.model.findings import ItemResult, Outcome, RoomResult
from fleet.model.geometry import Pose
from fleet.model.house import ModuleType, Room, RoomKind, Signature, SoakNote
from fleet.model.meeting import Expected, Meeting
from fleet.model.sheets import Area, AreaKind, areas_of
from fleet.model.templates import Decision, Level, SettingRule, Template
from fleet.model.units import Reading
from tests.unit.jobs.invented import AREA, BUILD, FOUND, LINE, READ_AT, ROOM, unit

CAN = {
    "max_range_mm": 7000,
    "horizontal_field_of_view_deg": 110,
    "max_areas": 5,
    "area_shapes": "rectangle",
}
NEW = {
    "hardware.revision": "R3",
    "module.type": "tracking",
    "module.firmware": "5.0",
    "build.version": "2.1.3",
    "setting.hold_time_s": 60,
}
BEFORE = datetime(2026, 9, 3, tzinfo=UTC)
AFTER = datetime(2026, 11, 26, tzinfo=UTC)
NOTHING = SwapEvidence()


def another(serial="s-2", can=None, **sheet):
    said = {key: value for key, value in (NEW | sheet).items() if value is not None}
    return Reading(serial, "http://127.0.0.1/n", "New unit", said, READ_AT, CAN | (can or {}))


def plan(reading=None, line=LINE, evidence=NOTHING, rules=None, **more):
    rules = rules or SiteRules((BUILD,))
    return plan_swap(unit(line=line), reading or another(), ROOM, evidence, rules=rules, **more)


def row(made, key):
    (found,) = (one for one in made.rows if one.key == key)
    return found


def with_areas(*areas):
    return replace(LINE, areas=areas)


def box(key, x0, y0, x1, y1, kind=AreaKind.WATCH):
    return Area(key, key.title(), kind, ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def test_a_unit_of_the_same_kind_takes_everything_over():
    made = plan()
    assert made.kind is SwapKind.UNIT
    assert made.line == replace(LINE, serial="s-2")
    assert made.dropped == ()
    assert row(made, "areas.sofa.outline").fate is Fate.CARRIES
    assert row(made, "setting.hold_time_s").after == 30
    assert made.carries[0] == "U01 stays in den, label and place"


def test_a_setting_that_the_new_one_lacks_is_dropped_by_name():
    line = replace(LINE, settings={"hold_time_s": 30, "gain": 4})
    made = plan(line=line)
    assert row(made, "setting.gain").fate is Fate.DROPPED
    assert made.line.settings == {"hold_time_s": 30}
    assert made.dropped == ("setting.gain 4: the new one doesn't hold such a setting",)
    assert "setting.gain" not in made.planned


def test_what_a_template_wants_and_the_new_one_lacks_is_taken_out_for_this_unit():
    template = Template(Level.SITE, settings=(SettingRule({"gain": 4}),))
    made = plan(rules=SiteRules((BUILD,), (template,)))
    assert made.decisions["setting.gain"] == Decision(
        None, "", "the new one doesn't hold such a setting"
    )
    assert "setting.gain" not in made.planned


def test_a_decision_of_the_swap_ends_with_the_next_swap():
    held = Decision(None, "A. N.", "the new one doesn't hold such a setting; it broke")
    rules = SiteRules((BUILD,), decisions={"setting.hold_time_s": held})
    assert "setting.hold_time_s" not in plan(rules=rules).decisions


def test_a_persons_decision_carries_over_with_its_name():
    decided = {"setting.hold_time_s": Decision(90, "A. N.", "the client asked")}
    made = plan(rules=SiteRules((BUILD,), decisions=decided))
    assert made.decisions == decided
    assert made.planned["setting.hold_time_s"] == 90


def test_decisions_of_the_new_units_earlier_place_do_not_come_back():
    stale = {"setting.hold_time_s": Decision(5, "A. N.", "elsewhere")}
    made = plan(rules=SiteRules((BUILD,), stale=stale))
    assert made.decisions == {}
    assert made.planned["setting.hold_time_s"] == 30
    assert "earlier decision setting.hold_time_s 5" in made.dropped[-1]


def test_a_distance_beyond_the_new_range_comes_down_to_it():
    line = replace(LINE, settings={"max_distance_mm": 6500})
    short = another(can={"max_range_mm": 5000}, **{"setting.max_distance_mm": 1000})
    found = plan(short, line=line)
    assert found.planned["setting.max_distance_mm"] == 5000
    assert row(found, "setting.max_distance_mm").fate is Fate.CHANGED


def test_areas_keep_their_floor_when_the_new_one_hangs_upside_down():
    turned = replace(LINE.pose, upside_down=True)
    made = plan(mount=turned)
    assert made.line.areas == (AREA,)
    assert row(made, "areas.sofa.outline").before == "0,1000 1000,1000 1000,2000 0,2000"
    assert row(made, "areas.sofa.outline").after == "-1000,1000 0,1000 0,2000 -1000,2000"
    assert row(made, "areas.sofa.outline").fate is Fate.CARRIES
    assert row(made, "mount.upside_down").fate is Fate.CHANGED


def test_a_decided_outline_is_carried_onto_the_plan_by_the_old_mount():
    decided = {"areas.sofa.outline": Decision("0,1000 500,1000 500,2000 0,2000", "A", "smaller")}
    planned = unit().planned | {"areas.sofa.outline": decided["areas.sofa.outline"].value}
    old = replace(unit(), planned=planned)
    rules = SiteRules((BUILD,), decisions=decided)
    made = plan_swap(
        old, another(), ROOM, NOTHING, rules=rules, mount=replace(LINE.pose, upside_down=True)
    )
    assert made.decisions == {}
    assert made.planned["areas.sofa.outline"] == "-500,1000 0,1000 0,2000 -500,2000"


def test_an_area_out_of_sight_is_dropped_and_one_half_in_sight_stays_and_is_asked_about():
    line = with_areas(box("aside", 0, 3900, 100, 4000), box("half", 2500, 1500, 3500, 2500))
    near = another(can={"max_range_mm": 3000, "horizontal_field_of_view_deg": 90})
    made = plan(near, line=line)
    aside, half = row(made, "areas.aside.outline"), row(made, "areas.half.outline")
    assert (aside.fate, aside.after) == (Fate.DROPPED, None)
    assert "sees nothing of it" in aside.reason
    assert half.fate is Fate.CHANGED
    assert "is cut off" in half.reason
    assert any("area 'Half'" in said for said in made.decide)
    assert all(y <= 3000 for area in areas_of(made.planned) for _, y in area.outline_mm)


def test_fewer_areas_keep_the_first_ones_or_the_chosen_ones():
    line = with_areas(*(box(key, 1000, 1000, 2000, 2000) for key in ("a", "b", "c")))
    few = another(can={"max_areas": 2})
    assert [area.key for area in plan(few, line=line).line.areas] == ["a", "b"]
    chosen = plan(few, line=line, chosen_areas=("c",))
    assert [area.key for area in chosen.line.areas] == ["a", "c"]
    assert "the new one holds 2 areas at most" in chosen.dropped[0]
    assert any("fewer areas" in said for said in chosen.decide)


def test_a_module_without_areas_drops_them_all_by_name():
    static = another("s-1", {"max_areas": 0}, **{"module.type": "static"})
    made = plan(static, kind=SwapKind.MODULE)
    assert made.line.areas == ()
    assert [said.split(" ")[0] for said in made.dropped if said.startswith("areas.")] == [
        "areas.sofa.kind",
        "areas.sofa.label",
        "areas.sofa.outline",
    ]


def test_a_polygon_drawn_askew_is_wider_as_a_rectangle_of_a_turned_unit():
    made = plan(mount=replace(LINE.pose, heading_mdeg=45_000), line=with_areas(AREA))
    assert "% wider than before" in row(made, "areas.sofa.outline").reason


def test_what_stood_in_the_old_one_and_nobody_planned_has_a_row():
    old = unit(as_left={"setting.own": 7, "hardware.vendor_id": "v-1"})
    made = plan_swap(old, another(**{"hardware.vendor_id": "v-2"}), ROOM, NOTHING)
    assert row(made, "setting.own").fate is Fate.DROPPED
    assert row(made, "hardware.vendor_id").fate is Fate.CHANGED


def test_a_build_that_nobody_approved_for_the_new_hardware_is_dropped_and_asked_about():
    made = plan(another(**{"hardware.revision": "R9"}))
    assert row(made, "build.version").fate is Fate.DROPPED
    assert any("no build is approved for R9" in said for said in made.decide)
    assert made.line.hardware_revision == "R9"


@pytest.mark.parametrize(
    ("reading", "kind", "said"),
    [
        (another(**{"module.type": "odd"}), None, "no plan knows"),
        (another(), SwapKind.MODULE, "another serial"),
        (another("s-1"), SwapKind.UNIT, "the same serial answers"),
        (
            replace(another(**{"setting.hold_time_s": None}), missing=("settings: refused",)),
            None,
            "could be read",
        ),
    ],
)
def test_what_does_not_fit_is_refused(reading, kind, said):
    with pytest.raises(PlanError, match=said):
        plan(reading, kind=kind)


def test_a_place_without_a_unit_is_no_swap():
    with pytest.raises(PlanError, match="no unit was ever allotted"):
        plan(line=replace(LINE, serial=""))


# What was exchanged


def test_the_kind_follows_from_serial_and_module():
    assert kind_of(unit(), another()) is SwapKind.UNIT
    assert kind_of(unit(), another(**{"module.type": "static"})) is SwapKind.BOTH
    assert kind_of(unit(), another("s-1", **{"module.firmware": "6.0"})) is SwapKind.MODULE
    with pytest.raises(PlanError, match="left with"):
        kind_of(unit(), replace(another("s-1"), sheet=FOUND))


def test_a_modules_own_serial_tells_a_like_one_apart():
    old = unit(as_left={"module.serial": "m-1"})
    same = replace(another("s-1"), sheet=FOUND)
    told = replace(same, other={"identity.module_serial_number": "m-2"})
    assert kind_of(old, told) is SwapKind.MODULE
    with pytest.raises(PlanError):
        kind_of(old, replace(same, other={"identity.module_serial": "m-1"}))


def test_a_unit_without_its_areas_and_settings_looks_reset_and_nothing_lapses():
    bare = {"setting.hold_time_s": 5}
    emptied = {key: value for key, value in FOUND.items() if not key.startswith("areas.")} | bare
    reading = replace(another("s-1"), sheet=emptied)
    made = plan(reading, evidence=EVIDENCE)
    assert made.kind is SwapKind.RESET
    assert (made.lapsed, made.dropped, made.line) == ((), (), LINE)
    assert "walkdown restore U01 --to as-left" in made.to_do[-1]
    assert row(made, "setting.hold_time_s").after == 30


def test_signs_are_told_and_never_acted_upon():
    silent, other_kind = another(), another("s-3", **{"module.type": "static"})
    (sign,) = swap_signs([unit()], [silent, other_kind], {"s-1"})
    assert (sign.label, sign.kind, sign.serial) == ("U01", SwapKind.UNIT, "s-2")
    assert "s-1 is silent" in sign.reason
    assert "at its address" in sign.reason
    assert swap_signs([unit()], [silent], set()) == ()
    (module,) = swap_signs([unit(found={"module.type": "static"})], [], set())
    assert (module.kind, module.serial) == (SwapKind.MODULE, "s-1")
    gone = {f"areas.sofa.{part}": None for part in ("kind", "label", "outline")}
    (reset,) = swap_signs([unit(found=gone | {"setting.hold_time_s": 5})], [], set())
    assert reset.kind is SwapKind.RESET


def test_silence_is_what_the_visit_says():
    rows = [
        Expected("U01", "Den", "s-1", "", Meeting.NOT_HEARD),
        Expected("U02", "Den", "s-2", "x", Meeting.MET),
        Expected("U03", "Den", "s-3", "x", Meeting.GONE),
        Expected("U04", "Den", "", "", Meeting.NOT_HEARD),
    ]
    assert silent_serials(rows) == {"s-1", "s-3"}


# What lapses


def item(key, outcome=Outcome.PASS, evidence="auto"):
    return ItemResult(key, key, evidence, outcome, "as shown")


NEXT_DOOR = Room(
    "hall", "Hall", "ground", RoomKind.CIRCULATION, ((4100, 0), (6000, 0), (6000, 4000))
)
FAR = Room("shed", "Shed", "ground", RoomKind.GARAGE, ((9000, 0), (9900, 0), (9900, 900)))
EVIDENCE = SwapEvidence(
    rooms=(ROOM, NEXT_DOOR, FAR),
    walked_at=dict.fromkeys(("den", "hall", "shed"), "2026-11-20T10:00:00Z"),
    seen_ppm={"den": 900_000, "hall": 20_000},
    fit="0.10 m RMS as planned",
    ghost_ppm=60_000,
    lost_ppm=10_000,
    soaks=((SoakNote("U01", 43_200, 0), BEFORE),),
    result=RoomResult(
        "den",
        (
            *(item(key) for key in ("build", "settings", "mount", "ghosts", "soak")),
            item("walk", Outcome.NOT_TESTED),
            *(item(key, evidence="tick") for key in ("label-readable", "people-told")),
            item("as-fitted-photo", evidence="photo"),
        ),
    ),
    ticked_at=dict.fromkeys(("label-readable", "people-told", "as-fitted-photo"), BEFORE),
    signatures=(Signature("C. Lient", "client", BEFORE),),
    left_at=BEFORE,
)


def lapsing(evidence=EVIDENCE, *, whole_unit):
    found = lapses_of("U01", ROOM, evidence, whole_unit=whole_unit)
    return {(one.kind, one.subject) for one in found}


def test_with_the_unit_lapses_all_that_was_shown_of_it_and_nothing_that_reading_answers():
    assert lapsing(whole_unit=True) == {
        (LapseKind.FIT, "den"),
        (LapseKind.SEEN, "den"),
        (LapseKind.SEEN, "hall"),
        (LapseKind.GHOSTS, "den"),
        (LapseKind.WALK, "den"),
        (LapseKind.SOAK, "2026-09-03"),
        (LapseKind.LINK, ""),
        (LapseKind.ITEM, "mount"),
        (LapseKind.ITEM, "ghosts"),
        (LapseKind.ITEM, "soak"),
        (LapseKind.TICK, "label-readable"),
        (LapseKind.TICK, "as-fitted-photo"),
        (LapseKind.AS_LEFT, ""),
        (LapseKind.SIGN_OFF, "den"),
    }


def test_with_a_module_its_units_link_label_and_photograph_stand():
    kinds = lapsing(whole_unit=True) - lapsing(whole_unit=False)
    assert kinds == {
        (LapseKind.LINK, ""),
        (LapseKind.TICK, "label-readable"),
        (LapseKind.TICK, "as-fitted-photo"),
    }


def test_what_was_shown_with_the_new_module_already_stands():
    since = datetime(2026, 11, 19, tzinfo=UTC)
    kinds = lapsing(replace(EVIDENCE, since=since), whole_unit=False)
    assert kinds == {
        (LapseKind.SOAK, "2026-09-03"),
        (LapseKind.ITEM, "soak"),
        (LapseKind.AS_LEFT, ""),
        (LapseKind.SIGN_OFF, "den"),
    }
    fresh = replace(EVIDENCE, since=since, signatures=(Signature("C", "client", AFTER),))
    assert (LapseKind.SIGN_OFF, "den") not in lapsing(fresh, whole_unit=False)


def test_what_lapses_is_to_be_shown_again_with_the_minutes_that_it_takes():
    made = plan(evidence=EVIDENCE)
    assert [(one.what, one.room, one.minutes) for one in made.redo] == [
        ("review and apply", "den", 2),
        ("walk", "den", 1),
        ("bleed-through", "hall", 1),
        ("soak", "den", 720),
        ("label", "den", 1),
        ("as-fitted-photo", "den", 2),
        ("sign-off", "den", 5),
    ]
    assert "Den: the sign-off by C. Lient, client, of 2026-09-03" in made.lapses


def test_nothing_shown_is_nothing_lapsed():
    made = plan()
    assert made.lapsed == ()
    assert [one.what for one in made.redo] == ["review and apply"]


def test_another_type_of_module_is_asked_about():
    static = another("s-1", {"max_areas": 0}, **{"module.type": "static"})
    made = plan(static)
    assert made.kind is SwapKind.MODULE
    assert made.line.module_type is ModuleType.STATIC
    assert any("a static module instead of a tracking one" in said for said in made.decide)
    assert any("was it moved" in said for said in made.decide)


def test_the_place_that_a_person_says_is_kept():
    pose = Pose(100, 200, 90_000)
    made = plan(mount=pose)
    assert made.line.pose == pose
    assert not any("fixed as the old one" in said for said in made.decide)


def test_a_soak_with_the_new_module_stands():
    soaked = replace(
        EVIDENCE,
        since=datetime(2026, 11, 19, tzinfo=UTC),
        soaks=((SoakNote("U01", 43_200, 0), AFTER),),
    )
    assert not {one for one in lapsing(soaked, whole_unit=False) if one[0] is LapseKind.SOAK}


# Rows that are rare


def test_what_only_the_new_one_can_hold_is_new_in_the_plan():
    rules = SiteRules((BUILD,), (Template(Level.SITE, settings=(SettingRule({"gain": 4}),)),))
    made = row(plan(another(**{"setting.gain": 2}), rules=rules), "setting.gain")
    assert (made.fate, made.before, made.after) == (Fate.NEW, None, 4)
    assert made.reason.startswith("planned by")


def test_an_area_without_an_outline_and_what_a_person_took_out_are_dropped_by_name():
    old = replace(unit(), planned=unit().planned | {"areas.lost.label": "Lost", "hook.kind": "x"})
    made = plan_swap(old, another(), ROOM, NOTHING, rules=SiteRules((BUILD,)))
    lost, hook = row(made, "areas.lost.label"), row(made, "hook.kind")
    assert (lost.fate, lost.reason) == (Fate.DROPPED, "no outline of that area is planned")
    assert (hook.fate, hook.reason) == (Fate.DROPPED, "a person took it out of the plan")


def test_an_area_of_two_corners_is_no_area():
    decided = {"areas.sofa.outline": Decision("0,1000 500,1000", "A. N.", "a slip")}
    planned = unit().planned | {"areas.sofa.outline": "0,1000 500,1000"}
    rules = SiteRules((BUILD,), decisions=decided)
    made = plan_swap(replace(unit(), planned=planned), another(), ROOM, NOTHING, rules=rules)
    assert row(made, "areas.sofa.outline").reason == "it has fewer than three corners"


def test_a_reset_unit_that_says_more_than_it_was_left_with_says_so():
    reading = replace(another("s-1"), sheet=FOUND | {"setting.gain": 2})
    made = row(plan(reading, kind=SwapKind.RESET), "setting.gain")
    assert (made.fate, made.after) == (Fate.NEW, 2)
