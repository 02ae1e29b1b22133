"""The workbench: the head, three columns (house, plan, jobs), the foot, and the dialogs that they open."""

from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QMainWindow,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from fleet.model.errors import WalkdownError
from fleet.model.geometry import Point
from fleet.model.journal import Change
from fleet.model.snapshot import HouseState, Job, Snapshot
from fleet.model.units import Reading
from ui.bridge.passphrase import Passphrase
from ui.bridge.passphrase_prompt import PassphrasePrompt
from ui.bridge.session import MakeVisit, Session
from ui.presenters.drift_rows import (
    CAMPAIGN_KEY,
    DRIFT_KEY,
    UPDATE,
    drift_sentences,
    serials_of,
)
from ui.presenters.foot_line import head_note
from ui.presenters.house_rows import RowKind
from ui.presenters.partly_rows import PARTLY_KEY
from ui.presenters.places import Place, PlaceKind, places
from ui.presenters.swap_rows import SWAP_KEY
from ui.widgets.progress_strip import ProgressStrip
from ui.widgets.shout_band import ShoutBand
from ui.widgets.theme import Scheme, apply_theme
from ui.windows.campaign_steps import CampaignSteps
from ui.windows.dialog_parts import follow, rule
from ui.windows.doubtful_dialog import DoubtfulDialog
from ui.windows.head import Head
from ui.windows.house_column import HouseColumn
from ui.windows.jobs_column import JobsColumn
from ui.windows.lap_dialog import LapDialog
from ui.windows.meeting_steps import MeetingSteps
from ui.windows.notices_dialog import NoticesDialog
from ui.windows.partly_dialog import PartlyDialog
from ui.windows.passphrase_dialog import PassphraseDialog
from ui.windows.place_dialog import PlaceDialog
from ui.windows.plan_column import PlanColumn
from ui.windows.record_dialog import RecordDialog
from ui.windows.review_dialog import ReviewDialog
from ui.windows.room_dialog import RoomDialog
from ui.windows.start_dialog import StartDialog
from ui.windows.sweep_steps import SweepSteps
from ui.windows.unit_steps import UnitSteps

Opening = Callable[[], tuple[MakeVisit, str]]
"""Makes a way into another visit, and the note for the head."""


class WorkbenchWindow(QMainWindow):
    """The whole window.

    Attributes:
        session: the engine and the feed of its snapshots.
        dialog: the dialog that is open, or was open last.
        question: the same of the one that asks for a passphrase.
    """

    def __init__(
        self,
        session: Session,
        *,
        note: str = "",
        theme: Scheme = "light",
        records: Path,
        passphrase: Passphrase | None = None,
        open_demo: Opening | None = None,
        open_folder: Callable[[Path], tuple[MakeVisit, str]] | None = None,
    ) -> None:
        """Make the window; `session.open` fills it.

        Args:
            session: the engine.
            note: said in the head beside the site's name.
            theme: "light" or "dark".
            records: folder in which hand-over records are offered.
            passphrase: where the signing key's passphrase is typed in.
            open_demo: makes the way into the demo house.
            open_folder: makes the way into another folder of sites.
        """
        super().__init__()
        self.session, self._note, self._theme = session, note, theme
        self._records, self._passphrase = records, passphrase or Passphrase()
        self._open_demo, self._open_folder = open_demo, open_folder
        self._prompt = PassphrasePrompt(self)
        self._prompt.wanted.connect(self._ask_passphrase)
        self._passphrase.ask_person = self._prompt.ask
        self._told_troubles: tuple[str, ...] = ()
        self._started_empty = self._told_of_doubt = False
        self.dialog: QDialog | None = None
        self.question: PassphraseDialog | None = None
        self.setWindowTitle("Walkdown")
        self._colour()  # before the first widget: a font that is set here is what they begin with
        self.head, self.shout, self.foot = Head(), ShoutBand(), ProgressStrip()
        self.house, self.plan, self.jobs = HouseColumn(), PlanColumn(), JobsColumn()
        self.meeting = self._meeting_steps()
        self.campaign = CampaignSteps(
            session,
            self.plan.updates,
            window=self,
            open_dialog=self._open,
            show_page=self.plan.show_campaign,
            say=self.foot.say,
        )
        self.unit_steps = UnitSteps(
            session,
            self.plan.bar,
            window=self,
            open_dialog=self._open,
            review=self.open_given_review,
            say=self.foot.say,
        )
        self.sweep = SweepSteps(
            session, self.plan, self.house.tree, place=self.open_place, parent=self
        )
        self._lay_out()
        self._connect()
        self.head.show_theme(theme)

    def set_theme(self, theme: Scheme) -> None:
        """Change the colours, and what was painted in them."""
        self._theme = theme
        self._colour()
        self.head.show_theme(theme)
        if self.session.house is not None:
            self._show_house(self.session.house)

    def open_start(self) -> None:
        """Offer the ways to begin."""
        dialog = StartDialog(self)
        dialog.demo.setEnabled(self._open_demo is not None)
        dialog.open_folder.setEnabled(self._open_folder is not None)
        dialog.site_chosen.connect(lambda name: self._change_site(dialog, name))
        dialog.demo_asked.connect(lambda: self._switch(dialog, self._open_demo))
        dialog.plan_chosen.connect(lambda plan: self._add_site(dialog, plan))
        dialog.folder_chosen.connect(
            lambda folder: self._switch(
                dialog, self._open_folder and (lambda: self._open_folder(folder))
            )
        )
        self._open(dialog)
        self._offer_sites(dialog)

    def open_place(self, serial: str, room: str = "", at_mm: Point | None = None) -> None:
        """Offer to place a unit that was heard."""
        house = self.session.house
        reading = _reading_of(house, serial) if house else None
        if house is None or reading is None:
            self.foot.say("Choose a unit under “Heard, not placed” first.")
            return
        unit = house.units.get(serial)
        room = room or (unit.line.room if unit is not None else self.plan.room)
        self._open(PlaceDialog(self.session, house, reading, room=room, at_mm=at_mm, parent=self))

    def open_review(self, unit: str = "") -> None:
        """Review the changes of a unit, or of all."""
        self._open(ReviewDialog(self.session, unit, self))

    def open_given_review(self, changes: tuple[Change, ...], why: str) -> None:
        """Review changes that the plan doesn't ask for, of one unit."""
        label = changes[0].label if changes else ""
        self._open(ReviewDialog(self.session, label, self, changes=changes, why=why))

    def open_room(self, key: str) -> None:
        """Open a room's checklist."""
        house = self.session.house
        room = next((r for r in house.plan.rooms if r.key == key), None) if house else None
        if room is not None:
            self._open(RoomDialog(self.session, room, self))

    def open_record(self) -> None:
        """Offer to issue the record."""
        number = 1
        while (self._records / f"record-{number}").exists():
            number += 1
        folder = self._records / f"record-{number}"
        self._open(RecordDialog(self.session, self._passphrase, folder, self))

    def open_lap(self) -> None:
        """Begin a lap of the house."""
        house = self.session.house
        if house is None or not house.plan.rooms:
            self.foot.say("There is no room to walk yet: start a site first.")
            return
        self._open(LapDialog(self.session, house.plan.rooms, self))

    def start_scan(self) -> None:
        """Turn to the tab on which units are met, and listen for them."""
        self.plan.show_meeting()
        self.plan.meet.list.setFocus()
        self.meeting.scan()

    def open_unit(self, serial: str) -> None:
        """Show what a unit says, whether it has a place or not."""
        house = self.session.house
        if house is None:
            return
        stranger = next((r for r in house.unplaced if r.serial == serial), None)
        if stranger is not None:
            self.house.tree.point_out("")
            self.plan.show_stranger(stranger)
        else:
            self.house.tree.point_out(serial)
            self.plan.show_unit(serial)

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802 - Qt's name
        """End visit and thread with the window; whoever waits for an answer goes first."""
        self._prompt.close()
        self.session.close()
        super().closeEvent(event)

    def _colour(self) -> None:
        application = QApplication.instance()
        if isinstance(application, QApplication):
            apply_theme(application, self._theme)

    def _lay_out(self) -> None:
        columns = QSplitter(Qt.Orientation.Horizontal)
        for column, share in ((self.house, 0), (self.plan, 1), (self.jobs, 0)):
            columns.addWidget(column)
            columns.setStretchFactor(columns.count() - 1, share)
        columns.setSizes([370, 700, 370])
        columns.setChildrenCollapsible(False)
        page = QWidget()
        layout = QVBoxLayout(page)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.head)
        layout.addWidget(rule())
        layout.addWidget(self.shout)
        layout.addWidget(columns, 1)
        layout.addWidget(rule())
        layout.addWidget(self.foot)
        self.setCentralWidget(page)
        self.resize(1440, 900)

    def _connect(self) -> None:
        QShortcut(QKeySequence("Ctrl+G"), self, self.head.go_to.setFocus)
        self.head.place_chosen.connect(self._go_to)
        self.head.not_found.connect(
            lambda typed: self.foot.say(f"Nothing here is called “{typed}”.")
        )
        self.head.lap.clicked.connect(self.open_lap)
        self.head.record.clicked.connect(self.open_record)
        self.head.sites.clicked.connect(self.open_start)
        self.head.theme.clicked.connect(self._other_theme)
        self.house.scan.clicked.connect(self.start_scan)
        self.house.place_asked.connect(self.open_place)
        self.house.tree.room_chosen.connect(self._show_room)
        self.house.tree.floor_chosen.connect(self.plan.show_floor)
        self.house.tree.unit_chosen.connect(self.plan.show_unit)
        self.plan.canvas.unit_dropped.connect(
            lambda serial, room, x_mm, y_mm: self.open_place(serial, room, (x_mm, y_mm))
        )
        self.plan.canvas.room_chosen.connect(lambda key: self.house.tree.choose(RowKind.ROOM, key))
        self.plan.canvas.unit_chosen.connect(lambda key: self.house.tree.choose(RowKind.UNIT, key))
        self.plan.units.unit_chosen.connect(lambda key: self.house.tree.choose(RowKind.UNIT, key))
        self.jobs.list.job_chosen.connect(self._turn_to)
        self.jobs.list.job_asked.connect(self._do)
        self.foot.stop_asked.connect(self.session.stop_operation)
        self.foot.security_asked.connect(self.meeting.show_security)
        self.foot.troubles_asked.connect(self.meeting.show_troubles)
        self.shout.look_asked.connect(self.meeting.look_at)
        self.plan.meet.sweep_asked.connect(self.sweep.start)
        self.plan.tabs.currentChanged.connect(self._came_to_front)
        self.session.failed.connect(self._tell)
        self.session.feed.house_changed.connect(self._show_house)
        self.session.feed.snapshot_changed.connect(self._show_snapshot)

    def _show_house(self, house: HouseState) -> None:
        self.house.show_house(house)
        self.plan.show_house(house)
        self.jobs.show_house(house)
        self.head.show_places(places(house))
        self.foot.show_house(house)
        for widget in (self.head.lap, self.head.record):
            widget.setEnabled(bool(house.plan.rooms) and not house.read_only)
        shouted = house.certificates
        self.shout.show_changed(shouted)
        for trouble in house.troubles:
            if trouble not in {*self._told_troubles, *(changed.said for changed in shouted)}:
                self.foot.say(f"◆ {trouble}")
        self._told_troubles = house.troubles
        self.campaign.show_house(house)
        if not house.plan.rooms and not self._started_empty:
            self._started_empty = True
            self.open_start()
        if house.doubtful and not self._told_of_doubt:
            self._told_of_doubt = True
            self._open(DoubtfulDialog(self.session, house.doubtful, self))

    def _show_snapshot(self, snapshot: Snapshot) -> None:
        self.head.show_site(snapshot.house.plan.site.name, head_note(snapshot, self._note))
        self.house.show_live(snapshot)
        self.plan.show_live(snapshot)
        self.foot.show_snapshot(snapshot)

    def _show_room(self, key: str) -> None:
        self.plan.show_room(key)
        self.jobs.show_room(key, self.plan.title.text())

    def _turn_to(self, job: Job) -> None:
        if job.room:
            self._show_room(job.room)

    def _do(self, job: Job) -> None:
        if job.key == CAMPAIGN_KEY:
            self.plan.show_campaign()
        elif job.action == UPDATE and self.session.house is not None:
            self.campaign.ask_new(serials_of(self.session.house, job))
        elif job.key.startswith(DRIFT_KEY) and not job.unit and self.session.house is not None:
            said = drift_sentences(self.session.house, job)
            self._open(NoticesDialog("Builds", said, lead=job.title, parent=self))
        elif job.key.startswith(SWAP_KEY) and self.session.house is not None:
            self.unit_steps.ask_swap_of(job.unit)
        elif job.key.startswith(PARTLY_KEY):
            self._open(PartlyDialog(self.session, job.unit, self))
        elif job.group == "settings":
            self.open_review(job.unit)
        elif job.group == "sign-off":
            self.open_room(job.room)
        elif job.unit and self.session.house is not None:
            units = self.session.house.units.values()
            serial = next((u.line.serial for u in units if u.line.label == job.unit), "")
            self.house.tree.choose(RowKind.UNIT, serial)
        else:
            self.open_room(job.room)

    def _go_to(self, place: Place) -> None:
        if place.kind is PlaceKind.JOB:
            self.jobs.whole.setChecked(True)
            self.jobs.list.choose(place.key)
        else:
            kind = RowKind.ROOM if place.kind is PlaceKind.ROOM else RowKind.UNIT
            self.house.tree.choose(kind, place.key)
            self.house.tree.setFocus()

    def _other_theme(self) -> None:
        self.set_theme("dark" if self._theme == "light" else "light")

    def _ask_passphrase(self, answer: "Future[str]") -> None:
        """Ask over whatever dialog is open: what it does may wait for this."""
        over = QApplication.activeModalWidget() or self
        dialog = PassphraseDialog(answer, first=self._passphrase.is_first(), parent=over)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.question = dialog
        dialog.open()

    def _meeting_steps(self) -> MeetingSteps:
        return MeetingSteps(
            self.session,
            self.plan.meet,
            window=self,
            open_dialog=self._open,
            place=self.open_place,
            show_unit=self.open_unit,
            say=self.foot.say,
            records=self._records,
        )

    def _came_to_front(self, _: int) -> None:
        if self.plan.tabs.currentWidget() is self.plan.meeting and self.session.house is not None:
            self.meeting.refresh_interfaces()

    def _add_site(self, dialog: StartDialog, plan: Path) -> None:
        operation = self.session.run(lambda visit: visit.add_site(plan))
        follow(self.session, operation, dialog, lambda _: dialog.accept(), dialog.trouble.tell)

    def _offer_sites(self, dialog: StartDialog) -> None:
        house = self.session.house
        if house is not None and not house.read_only:
            here = house.plan.site.name
            operation = self.session.run(lambda visit: visit.sites())
            show = dialog.show_sites
            follow(self.session, operation, dialog, lambda names: show(names, here), self._tell)

    def _change_site(self, dialog: StartDialog, name: str) -> None:
        self._begin_anew(dialog)
        operation = self.session.change_site(name)
        follow(self.session, operation, dialog, lambda _: dialog.accept(), dialog.trouble.tell)

    def _switch(self, dialog: StartDialog, way: Opening | None) -> None:
        if way is None:
            return
        make_visit, self._note = way()
        self._begin_anew(dialog)
        operation = self.session.open(make_visit)
        follow(self.session, operation, dialog, lambda _: dialog.accept(), dialog.trouble.tell)

    def _begin_anew(self, dialog: StartDialog) -> None:
        dialog.trouble.say("Opening …")
        self._told_of_doubt = False
        self.campaign.begin_anew()

    def _open(self, dialog: QDialog) -> None:
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.dialog = dialog
        dialog.open()

    def _tell(self, error: WalkdownError) -> None:
        self.foot.say(f"◆ {error}")


def _reading_of(house: HouseState, serial: str) -> Reading | None:
    """What was read of a unit, whether it has a place or waits for one."""
    waiting = next((reading for reading in house.unplaced if reading.serial == serial), None)
    unit = house.units.get(serial)
    return waiting or (unit.found if unit is not None else None)
