"""A load as an HTML page: one file that needs no other, for a screen or paper."""

from collections.abc import Iterator

from checker.reports.check_forms.html.page import index, load_page, page_names
from checker.reports.shared.check_results import CheckRun


def report(run: CheckRun) -> str:
    """The page of a single load; for several loads the index page."""
    if len(run.checked) == 1 and not run.unreadable:
        return load_page(run.checked[0], run)
    return index(run, page_names(run))


def folder(run: CheckRun) -> Iterator[tuple[str, str]]:
    """Name and text of each file: a page for each load, and the index page `index.html`."""
    names = page_names(run)
    for name, each in zip(names, run.checked, strict=True):
        yield name, load_page(each, run)
    yield "index.html", index(run, names)
