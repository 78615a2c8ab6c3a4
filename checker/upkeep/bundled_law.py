"""Rules of one's own with the id of a bundled rule of law: where they are less strict than it.

A copied folder replaces the bundled rules, so it is held to the same floor as an amendment. Who
read a newer law cites that document as the `source` of the rule or of the value, and is not held to
the older one.
"""

from collections.abc import Iterator

from checker.documents.problems import Mark, Problem
from checker.rulebooks.citations import Citation
from checker.rulebooks.formula import Formula
from checker.rulebooks.model import Rule, Rulebook, Rulebooks, Threshold


def less_strict_than_bundled(own: Rulebooks, bundled: Rulebooks) -> list[Problem]:
    """A problem for each way in which a rule, or a rulebook, asks less than the bundled law."""
    books = {book.id: book for book in bundled.books}
    laws = {rule.id: rule for book in bundled.books for rule in book.rules if rule.basis == "law"}
    found: list[Problem] = []
    for book in own.books:
        for rule in book.rules:
            law = laws.get(rule.id)
            if law is not None and law.location.file != rule.location.file:
                found += _less_strict(rule, law)
        old = books.get(book.id)
        if old is not None and old.file != book.file:
            found += _narrower_book(book, old, laws)
    return found


def _less_strict(rule: Rule, law: Rule) -> Iterator[Problem]:
    if _cites_another(rule.citation, law.citation):
        return
    ways = []
    if (rule.level, law.level) == ("should", "must"):
        ways.append(("`level: should`", "`level: must`"))
    if rule.basis != "law":
        ways.append((f"`basis: {rule.basis}`", "`basis: law`"))
    if rule.days is not None and rule.days != law.days:
        ways.append((f"days in force ({rule.days})", "no other days than it has"))
    if rule.for_each != law.for_each:
        ways.append(("another `for_each`", f"`for_each: {law.for_each}`"))
    for key, mine, its in (
        ("when", rule.when, law.when),
        ("requires", rule.requires, law.requires),
    ):
        if _text(mine) != _text(its) and not (key == "when" and mine is None):
            ways.append((f"another `{key}`", f"`{key}: {_text(its) or 'none'}`"))
    for name, threshold in law.thresholds.items():
        if name in rule.thresholds:
            ways += _looser(rule.thresholds[name], threshold)
    for words, wanted in ways:
        yield _problem(rule.location.file, rule.location.mark, rule.id, words, wanted, law)


def _looser(mine: Threshold, its: Threshold) -> Iterator[tuple[str, str]]:
    """The first day on which a value is looser than the bundled one, or is not there."""
    values = (*mine.values, *its.values)
    days = {day for each in values for day in (each.starts, each.ends) if day}
    for day in sorted(days):
        new, old = mine.on(day), its.on(day)
        if old is None or (new is not None and _cites_another(new.citation, old.citation)):
            continue
        if new is None:
            yield f"no {its.name} on {day}", f"{old.text}"
            return
        if its.looser(new.quantity, old):
            yield f"{its.name} {new.text}", f"{old.text} or stricter"
            return


def _narrower_book(book: Rulebook, old: Rulebook, laws: dict[str, Rule]) -> Iterator[Problem]:
    """Problems: rules of law left out of a copied rulebook, or a narrower place or condition."""
    mark = Mark(1, 1)
    standing = {rule.id for rule in book.rules}
    its_laws = [rule for rule in old.rules if rule.id in laws]
    for rule in its_laws:
        if rule.id not in standing:
            yield _problem(book.file, mark, book.id, f"no rule '{rule.id}'", "the rule", rule)
    if not its_laws:
        return
    first = its_laws[0]
    if book.jurisdiction != old.jurisdiction:
        words, wanted = (
            f"`jurisdiction: {book.jurisdiction}`",
            f"`jurisdiction: {old.jurisdiction}`",
        )
        yield _problem(book.file, mark, book.id, words, wanted, first)
    scope, its_scope = (each.scope and _text(each.scope.when) for each in (book, old))
    if scope is not None and scope != its_scope:
        wanted = f"`when: {its_scope}`" if its_scope else "no `applies`"
        yield _problem(book.file, mark, book.id, "another `applies`", wanted, first)


def _cites_another(mine: Citation, its: Citation) -> bool:
    """True if another document than the bundled one is cited."""
    return mine.source is not None and its.source is not None and mine.source.id != its.source.id


def _text(formula: Formula | None) -> str:
    return " ".join(formula.text.split()) if formula else ""


def _problem(file: str, mark: Mark, name: str, words: str, wanted: str, law: Rule) -> Problem:
    found = f"{words} in {name}, which is less strict than the bundled law ({law.location})"
    return Problem(file, mark, found, f"{wanted}, or the newer law as `source`")
