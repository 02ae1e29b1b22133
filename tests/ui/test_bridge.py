import asyncio
import gc
import sys
import threading

import pytest
from PySide6.QtCore import QThread

from fleet.model.errors import LinkError, PlanError, WalkdownError
from tests.ui.fake_visit import NO_SITE, FakeVisit
from tests.ui.invented import house_of
from tests.ui.screens import wait_for
from ui.bridge.collecting import Collecting
from ui.bridge.engine_thread import EngineThread
from ui.bridge.passphrase import Passphrase
from ui.bridge.session import Session
from ui.bridge.snapshot_feed import SnapshotFeed

CALLS = 10_000


@pytest.fixture
def engine(qapp):
    made = EngineThread()
    yield made
    assert made.close()


async def _thread_name():
    return threading.current_thread().name


async def _fail_with(error):
    raise error


def test_work_runs_in_the_engine_and_is_told_in_the_window(engine, qtbot, qapp):
    operation = engine.submit(_thread_name)
    told_in = []
    operation.done.connect(lambda _: told_in.append(QThread.currentThread()))
    with qtbot.waitSignal(operation.done) as told:
        pass
    assert told.args == ["engine"]
    assert told_in == [qapp.thread()]
    assert operation.over


def test_an_error_of_ours_is_handed_on_as_it_is(engine, qtbot):
    error = LinkError("can't be reached.", subject="U07")
    operation = engine.submit(lambda: _fail_with(error))
    with qtbot.waitSignal(operation.failed) as told:
        pass
    assert told.args == [error]


def test_an_unexpected_error_is_said_in_words(engine, qtbot, caplog):
    operation = engine.submit(lambda: _fail_with(KeyError("odd")))
    with qtbot.waitSignal(operation.failed) as told:
        pass
    assert isinstance(told.args[0], WalkdownError)
    assert "KeyError" in str(told.args[0])
    assert "unexpected in the engine" in caplog.text


def test_closing_cancels_what_runs_and_does_the_last_work(qapp):
    engine, seen = EngineThread(), []

    async def last():
        seen.append("last")

    engine.submit(lambda: asyncio.Event().wait())
    assert engine.close(last)
    assert seen == ["last"]
    assert engine.close()
    with pytest.raises(RuntimeError):
        engine.submit(last)
    engine.call_soon(last)


def test_a_last_work_that_fails_ends_the_thread_all_the_same(qapp, caplog):
    engine = EngineThread()
    assert engine.close(lambda: _fail_with(PlanError("no.")))
    assert "didn't end cleanly" in caplog.text


def test_feed_speaks_only_of_another_reference(qapp):
    visit, feed, houses, snapshots = FakeVisit(), SnapshotFeed(), [], []
    feed.house_changed.connect(houses.append)
    feed.snapshot_changed.connect(snapshots.append)
    feed.look()
    feed.follow(visit.snapshot)
    feed.look()
    visit.change(reports_per_s=1.0)
    feed.look()
    visit.change(house_of())
    feed.look()
    feed.stop()
    assert (len(snapshots), len(houses)) == (3, 2)


def test_session_opens_one_visit_after_another(qapp):
    session, first, second = Session("A"), FakeVisit(NO_SITE), FakeVisit()

    async def give(visit):
        return visit

    failed = []
    session.run(lambda visit: visit.read_all()).failed.connect(failed.append)
    wait_for(lambda: failed)
    assert "no site is open" in str(failed[0])
    session.stop_operation(1)
    session.open(lambda: give(first))
    wait_for(lambda: session.house is first.house)
    session.open(lambda: give(second))
    wait_for(lambda: session.house is second.house)
    assert first.ended
    assert session.close()
    assert second.ended


class _Ring:
    """Refers to itself, and says in which thread it was cleared."""

    def __init__(self, told):
        self.itself, self.told = self, told

    def __del__(self):
        self.told.append(threading.current_thread().name)


def test_rings_are_cleared_in_the_window_alone_while_there_is_an_engine(qapp):
    session, visit, told = Session("A"), FakeVisit(), []

    async def make():
        return visit

    async def litter(_):
        rings = [_Ring(told) for _ in range(5000)]
        return len(rings)

    session.open(make)
    wait_for(lambda: session.house is visit.house)
    assert not gc.isenabled()
    littered = []
    session.run(litter).done.connect(littered.append)
    wait_for(lambda: littered and told)
    assert set(told) == {threading.current_thread().name}
    assert session.close()
    assert gc.isenabled()


def test_what_looks_after_the_rings_is_given_back_once(qapp):
    one, other = Collecting(), Collecting()
    one.stop()
    one.stop()
    assert not gc.isenabled()
    other.stop()
    assert gc.isenabled()


def test_passphrase_is_handed_over_once():
    passphrase = Passphrase()
    passphrase.keep("secret")
    assert passphrase.ask() == b"secret"
    with pytest.raises(PlanError, match="passphrase"):
        passphrase.ask()


def test_ten_thousand_calls_leave_the_count_of_none_alone(window):
    label = window.foot._heard
    before = sys.getrefcount(None)
    for _ in range(CALLS):
        label.setText("heard 14 of 14")
        label.setVisible(True)
    assert abs(sys.getrefcount(None) - before) < CALLS / 100
