"""Column types that any database has: texts, JSON as text, times as RFC 3339 text in UTC."""

import json
from datetime import datetime
from typing import Any

from sqlalchemy import Dialect, Text
from sqlalchemy.types import TypeDecorator

from fleet.inventory.texts import storable, to_json, to_moment_text
from fleet.model.clock import from_rfc3339


class Words(TypeDecorator[str]):
    """A text; what no database takes becomes U+FFFD."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, _dialect: Dialect) -> str | None:
        """Clean a text on its way in."""
        return None if value is None else storable(value)


class Json(TypeDecorator[Any]):
    """A JSON value as text; None is the JSON word null."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: object, _dialect: Dialect) -> str:
        """Write a value on its way in."""
        return to_json(value)

    def process_result_value(self, value: str | None, _dialect: Dialect) -> object:
        """Read a value on its way out."""
        return None if value is None else json.loads(value)


class Moment(TypeDecorator[datetime]):
    """A moment as RFC 3339 text in UTC, which sorts as the moments do."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, _dialect: Dialect) -> str | None:
        """Write a moment on its way in."""
        return None if value is None else to_moment_text(value)

    def process_result_value(self, value: str | None, _dialect: Dialect) -> datetime | None:
        """Read a moment on its way out."""
        return None if value is None else from_rfc3339(value)
