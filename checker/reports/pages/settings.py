"""The project's settings as text."""

from rich.console import Console

from checker.documents.settings import FILE, Settings
from checker.reports.shared.page import Page


def print_settings(settings: Settings, console: Console) -> None:
    """Print each setting with its value and the line that sets it."""
    page = Page(console)
    page.line(f"Settings of {settings.file}" if settings.file else f"No {FILE} here or above")
    for name, value in settings.stated.items():
        shown = ", ".join(value) if isinstance(value, list) else value
        page.line(f"{shown or 'none'} ({settings.origins.get(name, 'built in')})", lead=f"{name}: ")
