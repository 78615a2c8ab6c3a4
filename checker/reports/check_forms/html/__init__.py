"""A load as an HTML page: one file that needs no other, for a screen or paper."""

from collections.abc import Iterable, Iterator

from checker.reports.check_forms.html.index_page import INDEX, index, page_names
from checker.reports.check_forms.html.outdated import outdated_page
from checker.reports.check_forms.html.page import load_page
from checker.reports.shared.check_results import CheckRun


def report(run: CheckRun) -> str:
    """The page of a single load; for several loads the index page."""
    if len(run.checked) == 1 and not run.unreadable:
        return load_page(run.checked[0], run)
    return index(run, page_names(run))


def folder(run: CheckRun, earlier: Iterable[tuple[str, str]] = ()) -> Iterator[tuple[str, str]]:
    """Name and text of each file: a page for each load, and the index page `index.html`.

    `earlier` are the name and text of the files that the folder has: pages of loads that are not
    part of this run, or cannot be read any more, get a mark that they are out of date.
    """
    names = page_names(run)
    for name, each in zip(names, run.checked, strict=True):
        yield name, load_page(each, run, INDEX)
    outdated = []
    for name, text in earlier:
        marked = None if name in (*names, INDEX) else outdated_page(text, INDEX)
        if marked is not None:
            outdated.append(name)
            if marked != text:
                yield name, marked
    yield INDEX, index(run, names, outdated)
