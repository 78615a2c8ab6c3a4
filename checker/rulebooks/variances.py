"""The register of variances: reads it, and finds the variances that nobody can give."""

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from checker.documents.document import Document
from checker.documents.problems import DataPath, Problem, nearest
from checker.load.convert import variance_from
from checker.load.model import Origin, Variance
from checker.rulebooks.days import Days
from checker.rulebooks.model import DatedValue, Rule, Rulebooks
from checker.rulebooks.rule_file_set import RuleFileSet, data_of
from checker.rulebooks.timeline import COMPANY, PLACE

_WHOSE = ("uses", "crews", "every_load")


def read_variances(document: Document, files: RuleFileSet) -> Iterator[Variance]:
    """The variances of one register; adds the problems of those for no load to `files`."""
    for index, data in enumerate(data_of(document)["variances"]):
        path: DataPath = ("variances", index)
        stated = [key for key in _WHOSE if key in data]
        if not stated or ("every_load" in data and len(stated) > 1):
            found = f"`{stated[0]}` beside `every_load`" if stated else "a variance of no load"
            wanted = "`uses`, `crews` or both, or else `every_load: yes`"
            files.problems.append(document.problem(path, found, wanted))
        file, mark = document.located((*path, "rule"))
        yield variance_from(data, Origin(file, mark, data["rule"]))


def law_beneath(rule: Rule) -> Rule | None:
    """The rule as law alone asks it, without a company's changes; None where no law asks it.

    It is a must-rule whose basis is law, or that has a number set by the law of a jurisdiction:
    that number is law whatever the basis of the rule, and stays so below a company's stricter one.
    """
    if rule.level != "must":
        return None
    values = [value for threshold in rule.thresholds.values() for value in threshold.values]
    if rule.basis != "law" and not any(map(_set_by_a_place, values)):
        return None
    if not any(value.change and value.change.amendment.layer == COMPANY for value in values):
        return rule
    thresholds = {
        name: replace(each, values=tuple(map(_of_law, each.values)))
        for name, each in rule.thresholds.items()
    }
    # Another id, because evaluators keep what they look up for a rule by its id.
    return replace(rule, id=f"{rule.id}, by law alone", thresholds=thresholds)


def _of_law(value: DatedValue) -> DatedValue:
    """The value beneath a company's changes, on the days of the value."""
    found = value
    while found.change and found.change.amendment.layer == COMPANY and found.replaces:
        found = found.replaces
    return replace(found, starts=value.starts, ends=value.ends)


def _set_by_a_place(value: DatedValue) -> bool:
    below = value.replaces is not None and _set_by_a_place(value.replaces)
    return below or (value.change is not None and value.change.amendment.layer == PLACE)


def variance_problems(variances: Iterable[Variance], rulebooks: Rulebooks) -> Iterator[Problem]:
    """A problem for each of an unknown rule, of a law's must-rule, without days, or given twice."""
    ordered = sorted(variances, key=lambda each: (each.rule, each.starts))
    for variance in ordered:
        found = rulebooks.rule(variance.rule)
        if found is None:
            if variance.rule not in rulebooks.elsewhere:
                known = [rule.id for book in rulebooks.books for rule in book.rules]
                guess = nearest(variance.rule, known)
                hint = guess and f"'{guess}'"
                yield _problem(variance, f"the rule '{variance.rule}'", "the id of a rule", hint)
        elif law_beneath(found[1]) and not _is_stricter_by_policy(variance, rulebooks):
            found_words = f"a variance of {variance.rule}, which is law ({found[1].citation})"
            yield _problem(
                variance, found_words, "no variance: only the law can excuse from this rule"
            )
        if variance.ends <= variance.starts:
            found_words = f"a variance that ends on {variance.ends}"
            yield _problem(variance, found_words, f"`until` after {variance.starts}")
        longest = rulebooks.longest_variance
        if longest is not None and (variance.ends - variance.starts).days > longest:
            days = (variance.ends - variance.starts).days
            wanted = f"at most {longest} days, `longest_variance` of the settings"
            yield _problem(variance, f"a variance of {days} days", wanted)
    last: dict[tuple[str, frozenset[str], frozenset[str]], Variance] = {}
    for variance in ordered:
        # Reported once for each, against the earlier one that lasts longest.
        alike = (variance.rule, variance.uses, variance.crews)
        before = last.get(alike)
        if before is not None and variance.starts < before.ends:
            found_words = f"a second variance of {variance.rule} from {variance.starts}"
            yield _problem(
                variance, found_words, f"one at a time; the other holds until {before.ends}"
            )
        if before is None or variance.ends > before.ends:
            last[alike] = variance


def _is_stricter_by_policy(variance: Variance, rulebooks: Rulebooks) -> bool:
    """True if a company changes the rule on a day of the variance: that much may be excused."""
    return any(
        change.rule_id == variance.rule
        and change.amendment.layer == COMPANY
        and change.threshold is not None
        and change.days.overlap(Days(variance.starts, variance.ends))
        for change in rulebooks.changes
    )


def _problem(variance: Variance, found: str, wanted: str, suggestion: str | None = None) -> Problem:
    location = variance.location
    return Problem(location.file, location.mark, found, wanted, suggestion)
