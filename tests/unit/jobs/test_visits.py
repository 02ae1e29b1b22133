from dataclasses import replace
from datetime import UTC, datetime, timedelta

from fleet.jobs.matching_builds import MatchSaid, key_for
from fleet.jobs.visits import Pace, visits_for
from fleet.model.all_sites import SiteUnit, SiteUnits
from fleet.model.house import Match, MatchWord, ModuleType
from tests.shelves import CLASS, IMAGE, OLDER, VENDOR

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
FOUND = {
    "hardware.revision": "R3",
    "hardware.vendor_id": VENDOR,
    "hardware.class_id": CLASS,
    "module.type": "tracking",
    "module.firmware": "5.0",
    "build.version": OLDER.version,
    "build.id": OLDER.build_id,
    "build.sequence": OLDER.sequence,
}
PACE = Pace(arrive_min=30, unit_min=5, room_min=3)


def unit(label="U01", room="Den", days=1, **changes):
    found = FOUND | {key.replace("__", "."): value for key, value in changes.items()}
    read_at = NOW - timedelta(days=days)
    return SiteUnit(label, f"s-{label}", room, "R3", "tracking", found, {}, read_at)


def site(*units, name="Invented cottage", matches=()):
    return SiteUnits(name, "1 Invented Lane", True, units, (), matches)


def visits(*sites, said=()):
    return visits_for(IMAGE, sites, dict(said), NOW, PACE)


def test_a_visit_takes_its_arrival_each_unit_and_each_room_once():
    (visit,) = visits(site(unit("U01"), unit("U02", days=9), unit("U03", room="Hall")))
    assert [one.label for one in visit.to_update] == ["U01", "U02", "U03"]
    assert visit.minutes == 30 + 3 * 5 + 2 * 3
    assert visit.oldest_s == 9 * 86_400
    assert (visit.site, visit.address, visit.demo) == ("Invented cottage", "1 Invented Lane", True)


def test_the_pace_is_a_persons_to_change():
    plans = visits_for(IMAGE, (site(unit()),), {}, NOW, Pace(0, 60, 0))
    assert plans[0].minutes == 60


def test_houses_with_the_most_units_come_first():
    sites = (site(unit(), name="B"), site(unit(), unit("U02"), name="C"), site(unit(), name="A"))
    assert [visit.site for visit in visits(*sites)] == ["C", "A", "B"]


def test_a_house_whose_units_run_it_or_are_other_ones_needs_no_visit():
    runs_it = {"build__version": "2.1.3", "build__id": "b-213", "build__sequence": 30}
    other = unit("U02", hardware__revision="R9")
    assert visits(site(unit(**runs_it), other), site()) == ()


def test_a_unit_that_nobody_vouched_for_waits_for_a_word_and_counts_in_the_minutes():
    untried = unit(module__firmware="4.9")
    (visit,) = visits(site(untried))
    assert (visit.to_update, visit.minutes) == ((), 38)
    assert "nobody has vouched for 2.1.3" in visit.needs_word[0].because
    key = key_for(untried.found, IMAGE.version)
    word = MatchSaid(key, MatchWord.ALLOWED, "Invented Installer", "tried on the bench", NOW)
    assert visits(site(untried), said={key: word})[0].to_update == (untried,)


def test_a_blocked_or_newer_unit_is_named_with_its_reason_and_takes_no_time():
    blocked = Match("R3", ModuleType.TRACKING, "5.1", IMAGE.version, MatchWord.BLOCKED)
    units = (unit(), unit("U02", module__firmware="5.1"), unit("U03", build__sequence=31))
    (visit,) = visits(site(*units, matches=(blocked,)))
    assert [(left.unit.label, left.because.split()[-1]) for left in visit.left] == [
        ("U02", "it"),
        ("U03", "decision"),
    ]
    assert visit.minutes == 38


def test_a_unit_that_was_never_read_is_named_where_the_image_is_for_it_by_the_plan():
    unread = SiteUnit("U09", "s-9", "Loft", "R3", "tracking")
    unserialled, other = replace(unread, serial=""), replace(unread, hardware_revision="R9")
    (visit,) = visits(site(unread, unserialled, other))
    assert visit.unread == (unread,)
    assert (visit.to_update, visit.oldest_s, visit.minutes) == ((), None, 30)
