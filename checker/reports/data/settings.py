"""The settings in force, as a document."""

from typing import Final

from msgspec import Struct

from checker.documents.settings import Settings
from checker.reports.shared.json_document import record_document
from checker.reports.shared.portable_paths import portable

KIND: Final = "settings-in-force"


class Setting(Struct, frozen=True):
    """One setting."""

    name: str
    """Name of the setting."""
    value: str | list[str] | None
    """Its value as stated; null where there is none."""
    at: str | None
    """File and line that set it; null for what is built in."""


class Document(Struct, frozen=True):
    """The settings of the project in the working directory."""

    file: str | None
    """Path of the settings file; null where there is none here or above."""
    settings: tuple[Setting, ...]
    """Every setting."""


def document(settings: Settings) -> str:
    """The settings as a document."""
    found = tuple(
        Setting(name, value, portable(settings.origins[name]) if name in settings.origins else None)
        for name, value in settings.stated.items()
    )
    file = portable(settings.file) if settings.file else None
    return record_document(KIND, Document(file, found))
