"""What the tab Campaign asks of the engine, and the dialogs that it opens."""

from collections.abc import Awaitable, Callable, Sequence
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QDialog, QFileDialog, QWidget

from fleet.model.errors import WalkdownError
from fleet.model.snapshot import HouseState
from ui.bridge.session import Session
from ui.bridge.visit_like import VisitLike
from ui.presenters.campaign_rows import needs_reason
from ui.presenters.drift_rows import is_open
from ui.windows.campaign_dialog import CampaignDialog
from ui.windows.campaign_page import CampaignPage
from ui.windows.keys_dialog import KeysDialog
from ui.windows.reason_dialog import ReasonDialog

_ACCEPTS = (
    "The campaign stopped because updates failed. Going on accepts them: say why. Units in doubt are read "
    "first, and nothing is sent to one that isn't recovered."
)
_ENDS = (
    "Units that are being updated come to an end first; no other begins. Those that were updated keep the "
    "new build. A campaign that was stopped can't be resumed: pause it for that."
)
_GO_ON, _STOP = "Go on", "Stop it for good"


class CampaignSteps(QObject):
    """Stands between the tab and the session; never waits for either."""

    def __init__(
        self,
        session: Session,
        page: CampaignPage,
        *,
        window: QWidget,
        open_dialog: Callable[[QDialog], None],
        show_page: Callable[[], None],
        say: Callable[[str], None],
    ) -> None:
        """Connect the tab.

        Args:
            session: the engine.
            page: the tab.
            window: parent of the dialogs.
            open_dialog: opens one.
            show_page: brings the tab to the front.
            say: says a sentence at the foot.
        """
        super().__init__(window)
        self._session, self._page, self._window = session, page, window
        self._open, self._show_page, self._say = open_dialog, show_page, say
        self._looked = False
        page.new_asked.connect(self.ask_new)
        page.pause_asked.connect(self._pause)
        page.resume_asked.connect(lambda: self._resume(None))
        page.elsewhere_asked.connect(self._resume_from)
        page.stop_asked.connect(self._stop)
        page.keys_asked.connect(self.show_keys)

    def show_house(self, house: HouseState) -> None:
        """Offer, once a visit, to go on with a campaign that was open when the visit began."""
        if self._looked or not house.plan.rooms:
            return
        self._looked = True
        if is_open(house.campaign) and not house.read_only:
            self._page.offer_to_go_on(house)
            self._page.show_house(house)
            self._show_page()

    def ask_new(self, wanted: Sequence[str] = ()) -> None:
        """Offer to begin a campaign.

        Args:
            wanted: serials of the units that are ticked to begin with; () for all.
        """
        snapshot = self._session.snapshot
        if snapshot is None or not snapshot.house.plan.units:
            self._say("There is no unit on the schedule yet: start a site first.")
            return
        dialog = CampaignDialog(self._session, snapshot, wanted, self._window)
        dialog.accepted.connect(self._show_page)
        self._open(dialog)

    def show_keys(self) -> None:
        """Show whose shelves are trusted."""
        house = self._session.house
        read_only = house is not None and house.read_only
        self._open(KeysDialog(self._session, read_only=read_only, parent=self._window))

    def begin_anew(self) -> None:
        """Another visit will begin: what it finds open is offered again."""
        self._looked = False
        self._page.taken_up()

    def _pause(self) -> None:
        self._do(lambda visit: visit.pause_campaign(), "Pauses once the running units have an end.")

    def _resume_from(self) -> None:
        """The stick with the shelf may be found in another folder than it was."""
        folder = QFileDialog.getExistingDirectory(self._window, "Folder of the shelf now")
        if folder:
            self._resume(Path(folder))

    def _resume(self, shelf: Path | None) -> None:
        house = self._session.house
        if house is None or house.campaign is None:
            return
        if not needs_reason(house.campaign):
            by = self._session.by
            self._do(
                lambda visit: visit.resume_campaign(by=by, shelf=shelf),
                "The campaign goes on.",
                self._took_up,
            )
            return
        question = ReasonDialog(
            self._session, "Go on with the campaign", _ACCEPTS, [_GO_ON], parent=self._window
        )
        question.chosen.connect(
            lambda _, why, by: question.wait_for(
                self._session.run(lambda visit: visit.resume_campaign(by=by, why=why, shelf=shelf)),
                lambda _: self._took_up(),
            )
        )
        self._open(question)

    def _stop(self) -> None:
        question = ReasonDialog(
            self._session,
            "Stop the campaign",
            _ENDS,
            [_STOP],
            need_reason=False,
            parent=self._window,
        )
        question.chosen.connect(
            lambda *_: question.wait_for(
                self._session.run(lambda visit: visit.stop_campaign()), lambda _: self._took_up()
            )
        )
        self._open(question)

    def _took_up(self) -> None:
        self._page.taken_up()
        if self._session.house is not None:
            self._page.show_house(self._session.house)

    def _do(
        self,
        work: Callable[[VisitLike], Awaitable[Any]],
        said: str,
        then: Callable[[], None] = lambda: None,
    ) -> None:
        operation = self._session.run(work)
        operation.done.connect(lambda _: self._say(said))
        operation.done.connect(lambda _: then())
        operation.failed.connect(self._tell)

    def _tell(self, error: WalkdownError) -> None:
        self._say(f"◆ {error}")
