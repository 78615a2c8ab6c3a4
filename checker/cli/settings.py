"""`cinchbook settings`: the settings in force here, and the file of each."""

import typer


def run() -> None:
    """Print the project's settings, each with the file and line that sets it.

    They are in cinchbook.yaml, in the working directory or the nearest folder above it.

    Example: cinchbook settings
    """
    from checker.cli.options import settings
    from checker.cli.output import console
    from checker.reports.pages.settings import print_settings

    print_settings(settings(), console())
    raise typer.Exit
