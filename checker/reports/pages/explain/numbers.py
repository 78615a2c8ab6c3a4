"""The numbers of a rule: value, dates, location, and everybody who set it."""

from collections.abc import Iterator

from checker.advice.explain import Explanation
from checker.reports.pages.explain.figures import INDENT
from checker.reports.shared.page import Page
from checker.reports.shared.words import changed_words
from checker.rulebooks.citations import Citation
from checker.rulebooks.model import DatedValue, Threshold


def print_numbers(explanation: Explanation, page: Page) -> None:
    """Print every threshold with its chain; one without a value names the values it has."""
    if explanation.rule.thresholds:
        page.heading("NUMBERS OF THE RULE")
    for name, threshold in explanation.rule.thresholds.items():
        label, value = name.replace("_", " "), threshold.on(explanation.check.on)
        if value is None:
            page.line(f"{label}: no value on {explanation.check.on}")
            for other in threshold.values:
                page.line(f"{other.text} {_dates(other)}", lead=INDENT)
            continue
        printed = f" (printed in metric as {value.metric_text})" if value.metric_text else ""
        page.line(f"{label}: {value.text}{printed}, {_dates(value)}, at {value.location}")
        for line in chain_lines(label, value, threshold):
            page.line(line, lead=INDENT)
    if explanation.finding and explanation.finding.metric_print:
        page.line("Uses the printed metric figures, which are stricter here.")


def chain_lines(name: str, value: DatedValue, threshold: Threshold) -> Iterator[str]:
    """Who set a number, and its earlier values back to the rulebook's own."""
    if value.change:
        yield changed_words(name, value, threshold)
    yield f"Source: {cited(value.citation)}"
    if value.note:
        yield f"Note: {value.note}"
    if value.replaces:
        before = value.replaces
        yield f"Before: {before.text}, {_dates(before)}, at {before.location}"
        yield from chain_lines(name, before, threshold)


def cited(citation: Citation) -> str:
    """A document with its clause, issuer and edition, and how it was read."""
    source = citation.source
    if source is None:
        return str(citation)
    return f"{citation}; {source.issuer}, {source.edition}; {source.read_as}"


def _dates(value: DatedValue) -> str:
    return f"from {value.starts}" + (f" until {value.ends}" if value.ends else "")
