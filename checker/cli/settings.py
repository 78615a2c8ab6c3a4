"""`cinchbook settings`: what is in force here, and which file says so."""

import typer


def run() -> None:
    """Print the project's settings and where each was set.

    They stand in cinchbook.yaml in the working directory or the nearest folder above it.

    Example: cinchbook settings
    """
    from checker.cli.options import settings
    from checker.cli.output import console
    from checker.reports.pages.settings import print_settings

    print_settings(settings(), console())
    raise typer.Exit
