"""What the tab Meet units asks of the engine, and the dialogs that it opens."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QDialog, QWidget

from fleet.model.errors import WalkdownError
from fleet.model.meeting import ChangedCertificate, Diagnosis, Interface
from ui.bridge.session import Session
from ui.presenters.meeting_rows import MeetingRow, Step, others_locked, twins
from ui.presenters.words import count_words
from ui.windows.addresses_dialog import AddressesDialog
from ui.windows.certificate_dialog import CertificateDialog
from ui.windows.double_dialog import DoubleDialog
from ui.windows.labels_dialog import LabelsDialog
from ui.windows.meet_page import MeetPage
from ui.windows.notices_dialog import NoticesDialog
from ui.windows.password_dialog import PasswordDialog
from ui.windows.place_dialog import IDENTIFY_S

SCAN_S = 10.0
_SECURITY_LEAD = "What is weak about the ways into units. Nothing is changed by reading it."


class MeetingSteps(QObject):
    """Stands between the tab and the session; never waits for either."""

    def __init__(
        self,
        session: Session,
        page: MeetPage,
        *,
        window: QWidget,
        open_dialog: Callable[[QDialog], None],
        place: Callable[[str], None],
        show_unit: Callable[[str], None],
        say: Callable[[str], None],
        records: Path,
    ) -> None:
        """Connect the tab.

        Args:
            session: the engine.
            page: the tab.
            window: parent of the dialogs.
            open_dialog: opens one.
            place: offers to place the unit of a serial.
            show_unit: shows what the unit of a serial says.
            say: says a sentence at the foot.
            records: folder in which labels are offered.
        """
        super().__init__(window)
        self._session, self._page, self._window = session, page, window
        self._open, self._place, self._show_unit, self._say = open_dialog, place, show_unit, say
        self._records, self._scanning = records, False
        page.scan_asked.connect(self.scan)
        page.interface_chosen.connect(self._listen_on)
        page.step_asked.connect(self._take)
        page.addresses_asked.connect(self.ask_addresses)
        page.labels_asked.connect(self.ask_labels)
        session.opened.connect(self._scan_over)

    def scan(self) -> None:
        """Listen for units; where none is met, find out why."""
        if self._scanning:
            return
        self._scanning = True
        self._page.show_scanning(running=True)
        self._say("Listening for units …")
        operation = self._session.run(lambda visit: visit.scan(SCAN_S))
        operation.done.connect(self._scanned)
        operation.failed.connect(self._scan_failed)

    def refresh_interfaces(self) -> None:
        """Ask which interfaces there are now; one may have come since."""
        operation = self._session.run(lambda visit: visit.interfaces())
        operation.done.connect(self._show_interfaces)
        operation.failed.connect(self._tell)

    def ask_addresses(self) -> None:
        """Offer to add units by their addresses."""
        self._open(AddressesDialog(self._session, self._window))

    def ask_labels(self) -> None:
        """Offer to write labels."""
        house = self._session.house
        if house is not None:
            path = self._records / "labels.pdf"
            labels = sum(bool(line.serial) for line in house.plan.units)
            self._open(LabelsDialog(self._session, labels, path, self._window))

    def show_security(self) -> None:
        """Show what is weak about the ways into units."""
        house = self._session.house
        if house is not None:
            self._open(
                NoticesDialog("Security", house.security, lead=_SECURITY_LEAD, parent=self._window)
            )

    def show_troubles(self) -> None:
        """Show what went wrong with units that were heard."""
        house = self._session.house
        if house is not None:
            self._open(NoticesDialog("What went wrong", house.troubles, parent=self._window))

    def look_at(self, changed: ChangedCertificate) -> None:
        """Show a certificate that changed."""
        self._open(CertificateDialog(self._session, changed, self._window))

    def _take(self, step: Step, row: MeetingRow) -> None:
        match step:
            case Step.PLACE:
                self._place(row.serial)
            case Step.SHOW:
                self._show_unit(row.serial)
            case Step.BLINK:
                self._blink(row)
            case Step.UNLOCK:
                self._unlock(row)
            case Step.SETTLE:
                self._settle(row)
            case Step.CERTIFICATE:
                if row.changed is not None:
                    self.look_at(row.changed)

    def _blink(self, row: MeetingRow) -> None:
        operation = self._session.run(lambda visit: visit.identify(row.serial, IDENTIFY_S))
        operation.done.connect(lambda _: self._say(f"{row.head} shows itself now."))
        operation.failed.connect(self._tell)

    def _unlock(self, row: MeetingRow) -> None:
        house, unit = self._session.house, row.locked
        if house is not None and unit is not None:
            others = others_locked(house, unit)
            self._open(
                PasswordDialog(self._session, unit, others, name=row.head, parent=self._window)
            )

    def _settle(self, row: MeetingRow) -> None:
        lines = twins(self._session.house, row.serial) if self._session.house else ()
        if lines:
            self._open(DoubleDialog(self._session, lines, self._window))

    def _listen_on(self, address: str) -> None:
        operation = self._session.run(lambda visit: visit.listen_on(address))
        operation.done.connect(lambda _: self.scan())
        operation.failed.connect(self._listening_failed)

    def _listening_failed(self, error: WalkdownError) -> None:
        """What is listened on stays; the choice has to say so again."""
        self._tell(error)
        self.refresh_interfaces()

    def _show_interfaces(self, interfaces: tuple[Interface, ...]) -> None:
        snapshot = self._session.snapshot
        self._page.show_interfaces(interfaces, snapshot.interface if snapshot else "")

    def _scanned(self, met: int) -> None:
        self._scan_over()
        self._say(f"{count_words(met, 'unit')} met.")
        if not met:
            self._say("No unit met: finding out why …")
            operation = self._session.run(lambda visit: visit.diagnose())
            operation.done.connect(self._diagnosed)
            operation.failed.connect(self._tell)

    def _diagnosed(self, found: Diagnosis) -> None:
        self._say("")
        self._page.show_diagnosis(found)

    def _scan_failed(self, error: WalkdownError) -> None:
        self._scan_over()
        self._tell(error)

    def _scan_over(self) -> None:
        self._scanning = False
        self._page.show_scanning(running=False)

    def _tell(self, error: WalkdownError) -> None:
        self._say(f"◆ {error}")
