"""Every screen of the workbench, one after another, filled with the invented house."""

import contextlib
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEventLoop, QTimer

from fleet.model.firmware import CampaignState
from fleet.model.snapshot import OperationView
from tests.ui.fake_visit import NO_SITE, FakeVisit
from tests.ui.invented import BLOCKED, DOUBT, STRANGER, half_met, house_of, talkative
from tests.ui.invented_updates import (
    NEWER,
    OTHER_KEY,
    drifting,
    partly_done,
    running_newer,
    under_way,
    with_newcomer,
)
from ui.bridge.session import Session
from ui.presenters.house_rows import RowKind
from ui.presenters.meeting_rows import Filter, meeting_rows
from ui.windows.decide_dialog import DecideDialog
from ui.windows.passphrase_dialog import PassphraseDialog
from ui.windows.workbench import WorkbenchWindow

SIZE = (1440, 900)
RUNNING = 5000


def wait_for(condition, limit_ms=RUNNING):
    """Run the window's loop until a condition holds."""
    loop, poll, limit = QEventLoop(), QTimer(), QTimer()
    poll.setInterval(5)
    poll.timeout.connect(lambda: condition() and loop.quit())
    limit.setSingleShot(True)
    limit.timeout.connect(loop.quit)
    poll.start()
    limit.start(limit_ms)
    loop.exec()
    poll.stop()
    limit.stop()
    if not condition():
        raise AssertionError("it never came about")


@contextlib.contextmanager
def open_window(visit=None, theme="light", records=Path("records"), **more):
    """A window on a fake visit, shown and filled; closed and gone afterwards."""
    visit = visit or FakeVisit()
    session = Session("Test installer")
    window = WorkbenchWindow(session, theme=theme, records=records, **more)
    window.resize(*SIZE)
    window.show()

    async def make_visit():
        return visit

    session.open(make_visit)
    wait_for(lambda: session.snapshot is not None)
    try:
        yield window
    finally:
        if window.dialog is not None:
            with contextlib.suppress(RuntimeError):
                window.dialog.close()
        window.close()
        window.deleteLater()
        QCoreApplication.sendPostedEvents()
        QCoreApplication.processEvents()


def screens(theme):
    """Yield name and widget of each screen, shown."""
    house = house_of()
    running = FakeVisit(house, (OperationView(7, "Apply", 600_000, "U04 areas", can_stop=True),))
    with open_window(running, theme) as window:
        window.house.tree.choose(RowKind.ROOM, "living-room")
        yield "workbench-room", window
        window.house.tree.choose(RowKind.FLOOR, "ground")
        yield "workbench-floor", window
        window.house.tree.choose(RowKind.UNIT, serial_of(house, "U02"))
        yield "workbench-unit", window
        window.plan.tabs.setCurrentIndex(2)
        yield "workbench-all-units", window
        yield from _dialogs(window, house)
    yield from _meeting(theme)
    yield from _updating(theme)
    yield from _unit_dialogs(theme)
    with open_window(FakeVisit(NO_SITE), theme, open_demo=no_way, open_folder=no_way) as window:
        yield "workbench-empty", window
        yield "start", window.dialog
    several = FakeVisit(house)
    several.all_sites = ("Marlpit House", "Osier Barn", "3 Wherry Lane (invented)")
    with open_window(several, theme, open_demo=no_way, open_folder=no_way) as window:
        window.open_start()
        wait_for(window.dialog.sites.isVisible)
        window.dialog.sites.setCurrentRow(1)
        yield "start-sites", window.dialog
    with open_window(FakeVisit(replace(house, doubtful=(DOUBT,))), theme) as window:
        yield "in-doubt", window.dialog


def no_way(*_):
    """Stands where the window could open another visit."""
    raise AssertionError("nobody asked for it")


def serial_of(house, label):
    """The serial of a unit by its label."""
    return next(serial for serial, unit in house.units.items() if unit.line.label == label)


def _dialogs(window, house):
    window.open_place(STRANGER.serial)
    yield "place", window.dialog
    window.dialog.close()
    window.open_review()
    yield "review", window.dialog
    change = next(c for c in house.changes if c.label == "U03")
    decide = DecideDialog(window.session, change, "Test installer", window)
    decide.show()
    yield "decide", decide
    decide.close()
    window.dialog.close()
    window.open_room("bedroom-1")
    yield "checklist", window.dialog
    window.dialog.close()
    window.open_record()
    yield "record", window.dialog
    window.dialog.close()
    window.open_lap()
    yield "lap", window.dialog
    window.dialog.close()


def _meeting(theme):
    """The screens on which units are met."""
    visit = FakeVisit(half_met())
    with open_window(visit, theme) as window:
        page = window.plan.meet
        window.plan.show_meeting()
        wait_for(lambda: page.interface.count() > 1)
        yield "meet-units", window
        page.filters[Filter.TO_SETTLE].click()
        page.show_diagnosis(BLOCKED)
        page.diagnosis.unfold.click()
        yield "meet-diagnosis", window
        page.diagnosis.hide()
        yield from _meeting_dialogs(window, visit)
        question = PassphraseDialog(Future(), first=True, parent=window)
        question.show()
        yield "passphrase", question
        question.close()
        serial = serial_of(visit.house, "U02")
        visit.change(live={**visit.snapshot().live, serial: talkative(serial)})
        window.open_unit(serial)
        wait_for(lambda: "Oldest part" in window.plan.said.lines())
        yield "unit-says", window
        window.open_unit(STRANGER.serial)
        yield "stranger-says", window
        window.sweep.tone = lambda: None
        window.sweep.start()
        wait_for(lambda: window.plan.band.there.isEnabled() and window.plan.band.isVisible())
        yield "sweep", window
        visit.stopped.append(9)
        window.session.run(_go_on)
        wait_for(window.plan.band.close_it.isVisible)


def _updating(theme):
    """The screens on which builds are brought to units."""
    visit_of_updates = FakeVisit(drifting(running_newer(house_of())))
    with open_window(visit_of_updates, theme) as window:
        window.plan.show_campaign()
        yield "campaign-none", window
        window.campaign.ask_new()
        dialog = window.dialog
        dialog.image.folder.setText("/media/stick/shelf")
        words, visit_of_updates.words = visit_of_updates.words, {}
        dialog.image.open.click()
        wait_for(dialog.image.band.trust.isVisible)
        yield "campaign-unknown-key", dialog
        dialog.image.band.trust.click()
        dialog.question.tick.click()
        yield "shelf-key-trust", dialog.question
        dialog.question.close()
        visit_of_updates.words = words
        dialog.image.open.click()
        wait_for(lambda: dialog.image.line is not None)
        yield "campaign-image", dialog
        dialog.image.band.withdraw.click()
        yield "shelf-key-withdraw", dialog.question
        dialog.question.close()
        dialog.next.click()
        wait_for(lambda: dialog.pages.currentWidget() is dialog.waves)
        yield "campaign-waves", dialog
        dialog.waves.vouch.click()
        yield "campaign-vouch", dialog.question
        dialog.question.close()
        yield from _older_build(dialog, visit_of_updates)
        dialog.close()
        visit_of_updates.words[OTHER_KEY.fingerprint] = OTHER_KEY
        window.plan.updates.keys.click()
        wait_for(lambda: window.dialog.keys.count() > 1)
        yield "shelf-keys", window.dialog
        window.dialog.close()
    visit = FakeVisit(under_way(state=CampaignState.AT_GATE))
    with open_window(visit, theme) as window:
        wait_for(window.plan.updates.offer.isVisible)
        yield "campaign-found-open", window
        window.plan.updates.go_on.click()
        yield "campaign-go-on", window.dialog
        window.dialog.close()
        window.plan.updates.taken_up()
        visit.change(under_way())
        wait_for(window.plan.updates.pause.isVisible)
        yield "campaign-running", window


def _older_build(dialog, visit):
    """The waves of a build that is older than what some units run: left out, asked about, meant."""
    visit.newer = NEWER
    dialog.back.click()
    dialog.next.click()
    wait_for(dialog.waves.downgrade.isVisible)
    yield "campaign-older-build", dialog
    dialog.waves.downgrade.click()
    question = dialog.question
    question.tick.click()
    question.reason.setText("2.2.0 loses people who keep still")
    yield "campaign-older-meant", question
    next(iter(question.choices.values())).click()
    wait_for(dialog.waves.caution.isVisible)
    yield "campaign-goes-back", dialog


def _unit_dialogs(theme):
    """The dialogs that change a unit as a whole, and a review with something to put right."""
    house = with_newcomer(partly_done())
    with open_window(FakeVisit(house), theme) as window:
        serial = serial_of(house, "U03")
        window.open_unit(serial)
        bar = window.plan.bar
        for name, button, filled in (
            ("where-from", bar.origins, lambda d: d.table.rowCount()),
            ("restore", bar.restore, lambda d: d.pane.texts()),
            ("swap", bar.swap, lambda d: d.pane.texts()),
        ):
            button.click()
            dialog = window.dialog
            wait_for(lambda dialog=dialog, filled=filled: filled(dialog))
            if name == "restore":
                dialog.sheets.setCurrentRow(2)
                wait_for(dialog.review.isEnabled)
            yield name, dialog
            dialog.close()
        window.open_unit(serial_of(house, "U02"))
        bar.swap.click()
        wait_for(window.dialog.choices.areas.isVisible)
        yield "swap-fewer-areas", window.dialog
        window.dialog.close()
        window.open_review()
        dialog = window.dialog
        dialog.rehearse.click()
        wait_for(dialog.results.isVisible)
        yield "review-dry-run", dialog
        dialog.put_right.click()
        yield "partly-done", dialog.partly
        dialog.partly.close()
        dialog.close()


async def _go_on(visit):
    visit.go_on.set()


def _meeting_dialogs(window, visit):
    rows = {row.head: row for row in meeting_rows(visit.house)}
    steps = window.meeting
    for name, open_it in (
        ("password", lambda: steps._unlock(rows["U05"])),
        ("double", lambda: steps._settle(meeting_rows(visit.house)[-1])),
        ("certificate", window.shout.look.click),
        ("security", window.foot.security.click),
        ("labels", steps.ask_labels),
        ("addresses", steps.ask_addresses),
    ):
        open_it()
        dialog = window.dialog
        if name == "password":
            dialog.same.setChecked(True)
        if name == "addresses":
            dialog.text.setPlainText("http://192.0.2.18/td\n192.0.2.19")
            dialog.meet.click()
            wait_for(dialog.results.isVisible)
        yield name, dialog
        dialog.close()
