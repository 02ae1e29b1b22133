"""The table of a site's room templates. Rules: `tables`."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from fleet.inventory.tables import Table


class RoomTemplateRow(Table):
    """What should stand at one level of a site; `document` is a template file's."""

    __tablename__ = "room_template"
    site_id: Mapped[int] = mapped_column(ForeignKey("site.id"), primary_key=True)
    level: Mapped[str] = mapped_column(primary_key=True)
    subject: Mapped[str] = mapped_column(primary_key=True)
    document: Mapped[Any]
    by: Mapped[str]
    at: Mapped[datetime]
    why: Mapped[str]
