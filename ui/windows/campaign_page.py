"""The tab on which a campaign is followed: what is lost, what its gates checked, every unit, and its reins.

It is a tab and no dialog, because a campaign runs for an hour while other work goes on beside it.
"""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QVBoxLayout, QWidget

from fleet.model.snapshot import HouseState, ItemState
from ui.presenters.campaign_rows import (
    NO_CAMPAIGN,
    campaign_rows,
    ended_ppm,
    found_open_words,
    lost_units,
    offers,
    proof_words,
)
from ui.presenters.drift_rows import is_open
from ui.presenters.words import breakable
from ui.widgets.update_list import UpdateList
from ui.windows.dialog_parts import banner, button, wrapped

_MOST_SHOUTED = 3


class CampaignPage(QWidget):
    """Shout, offer, list, buttons.

    Signals:
        pause_asked, resume_asked, elsewhere_asked, stop_asked, new_asked, keys_asked.
    """

    pause_asked = Signal()
    resume_asked = Signal()
    elsewhere_asked = Signal()
    stop_asked = Signal()
    new_asked = Signal()
    keys_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAutoFillBackground(True)
        self.shout, self.lost = banner("shout", ItemState.WRONG)
        self.offer, self.offered = banner("notice", ItemState.LOOK)
        self.go_on = button("Go on", "Go on with the campaign that was found open", default=True)
        self.not_now = button("Not now", "Leave the campaign as it stands")
        self.empty, self.proof = wrapped(NO_CAMPAIGN), wrapped("")
        self.list = UpdateList()
        self.whole = QProgressBar()
        self.whole.setAccessibleName("Units that have an end")
        self.whole.setMaximum(1_000_000)
        self.whole.setTextVisible(False)
        self.pause = button("Pause", "Pause the campaign once the running units have an end")
        self.resume = button("Resume", "Resume the campaign")
        self.elsewhere = button(
            "Resume from …", "Resume the campaign with its shelf in another folder"
        )
        self.stop = button("Stop …", "Stop the campaign for good")
        self.new = button("New campaign …", "Choose an image for a new campaign")
        self.keys = button("Shelf keys …", "See whose shelves are trusted")
        self._found_open = False
        self._lay_out()
        self.not_now.clicked.connect(self.offer.hide)
        for one, signal in (
            (self.pause, self.pause_asked),
            (self.resume, self.resume_asked),
            (self.go_on, self.resume_asked),
            (self.elsewhere, self.elsewhere_asked),
            (self.stop, self.stop_asked),
            (self.new, self.new_asked),
            (self.keys, self.keys_asked),
        ):
            one.clicked.connect(lambda _=False, each=signal: each.emit())

    def show_house(self, house: HouseState) -> None:
        """Show how the campaign stands."""
        campaign = house.campaign
        self._shout(lost_units(house))
        rows = campaign_rows(house)
        self.list.show_rows(rows)
        self.list.setVisible(bool(rows))
        self.empty.setVisible(not rows)
        self.proof.setText(breakable(proof_words(house)))
        self.whole.setVisible(bool(rows))
        self.whole.setValue(ended_ppm(campaign))
        pause, resume, stop, new = offers(campaign, found_open=self._found_open)
        for one, offered in (
            (self.pause, pause),
            (self.resume, resume),
            (self.elsewhere, resume),
            (self.stop, stop),
            (self.new, new),
        ):
            one.setVisible(offered)
            one.setEnabled(not house.read_only)
        self.new.setEnabled(not house.read_only and bool(house.plan.units))
        if not is_open(campaign):
            self.offer.hide()

    def offer_to_go_on(self, house: HouseState) -> None:
        """Offer to go on with a campaign that was open when the visit began."""
        if house.campaign is not None:
            self._found_open = True
            self.offered.setText(found_open_words(house.campaign))
            self.offer.show()

    def taken_up(self) -> None:
        """Offer it no longer: somebody went on with it, or another visit began."""
        self._found_open = False
        self.offer.hide()

    def _shout(self, lost: tuple[str, ...]) -> None:
        more = len(lost) - _MOST_SHOUTED
        rest = [f"… and {more} more."] if more > 0 else []
        self.lost.setText(breakable("\n".join([*lost[:_MOST_SHOUTED], *rest])))
        self.shout.setVisible(bool(lost))

    def _lay_out(self) -> None:
        offered, reins = QHBoxLayout(), QHBoxLayout()
        for one in (self.go_on, self.not_now):
            offered.addWidget(one)
        inner = self.offer.layout()
        if isinstance(inner, QHBoxLayout):
            inner.addLayout(offered)
        for one in (self.pause, self.resume, self.elsewhere, self.stop):
            reins.addWidget(one)
        reins.addStretch(1)
        for one in (self.keys, self.new):
            reins.addWidget(one)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(10, 10, 10, 10)
        layout.setSpacing(8)
        for part in (self.shout, self.offer, self.whole, self.proof, self.empty):
            layout.addWidget(part)
        layout.addWidget(self.list, 1)
        layout.addStretch(0)
        layout.addLayout(reins)
