"""The templates of the pages, loaded once."""

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("checker.reports.shared.html"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def template(name: str) -> Template:
    """The template of that name."""
    return _environment().get_template(name)
