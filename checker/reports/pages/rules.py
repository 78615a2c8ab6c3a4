"""Rules as text: the list, and one rule in full."""

from collections.abc import Iterator
from datetime import date

from rich.console import Console
from rich.text import Text

from checker.facts.catalogue import catalogue
from checker.reports.shared.actions import rule_actions
from checker.reports.shared.amendment_words import changed_by, new_value, reasons
from checker.reports.shared.words import number_of
from checker.rulebooks.layering import rule_in_force
from checker.rulebooks.model import Change, DatedValue, Rule, Rulebook, Rulebooks


def print_rules(rulebooks: Rulebooks, console: Console) -> None:
    """Every rule by rulebook, one line each."""
    for book in rulebooks.books:
        console.print(Text(f"{book.title} ({book.id}, {book.jurisdiction})", style="bold"))
        for rule in book.rules:
            console.print(Text(f"  {rule.id} [{rule.level}] {rule.title}. {rule.citation}"))
        console.print()
    total = sum(len(book.rules) for book in rulebooks.books)
    console.print(
        Text(f"{number_of(total, 'rule')} in {number_of(len(rulebooks.books), 'rulebook')}")
    )


def print_rule(
    book: Rulebook, rule: Rule, rulebooks: Rulebooks, day: date, console: Console
) -> None:
    """Print one rule: what it requires, its numbers and their sources, the facts it needs.

    Its texts print the figures in force on a day where no jurisdiction amends it.
    """
    today = rule_in_force(rule, rulebooks, (), day)
    console.print(Text(today.title, style="bold"))
    lines = [
        f"{rule.id}, rulebook {book.id}, at {rule.location}",
        f"{rule.level}; basis: {rule.basis}; {rule.citation}",
        *([f"In force: {rule.days}"] if rule.days else []),
        f"Why: {today.because}",
        *(f"Fix: {words}" for words in rule_actions(today)),
        "",
        f"Evaluated: {f'for each {rule.for_each}' if rule.for_each else 'once for the load'}",
        f"When: {' '.join(rule.when.text.split()) if rule.when else 'always'}",
        f"Requires: {' '.join(rule.requires.text.split())}",
    ]
    lines += [f"Shows {label}: {formula.text}" for label, formula in rule.shows.items()]
    if rule.thresholds:
        lines += ["", "Thresholds"]
    changes = [each for each in rulebooks.changes if each.rule_id == rule.id]
    for threshold in rule.thresholds.values():
        lines += [f"  {threshold.name} = {_dated(value)}" for value in threshold.values]
        mine = [each for each in changes if each.threshold == threshold.name]
        lines += [line for change in mine for line in _amended(threshold.name, change)]
    repeals = [each for each in changes if each.threshold is None]
    if repeals:
        lines += ["", "Repealed", *(line for each in repeals for line in _amended(None, each))]
    lines += ["", "Facts it needs"]
    lines += [f"  {name}: {catalogue()[name].meaning}" for name in rule.facts]
    for line in lines:
        console.print(Text(line))


def _amended(name: str | None, change: Change) -> Iterator[str]:
    """A change with its days, and below it who made it and why, or took it back."""
    value = f"{name} = {new_value(change)}" if name else new_value(change)
    yield f"  {value} {change.stated}; {changed_by(change)}"
    yield from (f"    {line}" for line in reasons(change))


def _dated(value: DatedValue) -> str:
    printed = f" (printed in metric as {value.metric_text})" if value.metric_text else ""
    until = f" until {value.ends}" if value.ends else ""
    text = f"{value.text}{printed} from {value.starts}{until}; {value.citation}"
    if value.citation.source:
        source = value.citation.source
        text += f"; {source.issuer}, {source.edition}, {source.read_as}"
    return f"{text}; {value.note}" if value.note else text
