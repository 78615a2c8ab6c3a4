"""`cinchbook settings`: the settings in force here, and the file of each."""

import typer

from checker.cli.options import Format, FormatOption


def run(form: FormatOption = Format.TEXT) -> None:
    """Print the project's settings, each with the file and line that sets it.

    They are in cinchbook.yaml, in the working directory or the nearest folder above it.

    Example: cinchbook settings
    """
    from checker.cli.options import print_json, settings
    from checker.cli.output import console
    from checker.reports.data import settings as data
    from checker.reports.pages.settings import print_settings

    if form is Format.JSON:
        print_json(data.document(settings()))
    else:
        print_settings(settings(), console())
    raise typer.Exit
