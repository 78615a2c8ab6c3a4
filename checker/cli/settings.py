"""`cinchbook settings`: what is in force here, and which file says so."""

import typer


def run() -> None:
    """Print the project's settings and where each was set.

    They stand in cinchbook.yaml in the working directory or the nearest folder above it.

    Example: cinchbook settings
    """
    from rich.console import Console

    from checker.cli.options import settings
    from checker.reports.settings_page import print_settings

    print_settings(settings(), Console(highlight=False))
    raise typer.Exit
