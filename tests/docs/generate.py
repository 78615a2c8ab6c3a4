"""Writes the lists in the documentation from what the program itself knows.

Run `python tests/docs/generate.py` after changing rules, facts, fields or options. A test fails
while a list in the documentation differs from what this would write.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from checker.cli.app import COMMANDS, application
from checker.documents.schemas import PROFILE, definition, families, resolved
from checker.facts.catalogue import catalogue
from checker.reports.pages.check.page import QUESTIONS
from checker.rulebooks.model import READINGS, Rule
from checker.season.records.findings_columns import COLUMNS
from checker.units.parsing import KINDS
from tests.shipped import shipped_rules

ROOT = Path(__file__).resolve().parents[2]


def commands() -> Iterator[str]:
    """Each command's help, as it prints it."""
    for command in COMMANDS:
        shown = CliRunner().invoke(
            application(), [command, "--help"], prog_name="cinchbook", env={"COLUMNS": "100"}
        )
        yield f"## `cinchbook {command}`\n\n```text\n{shown.stdout.strip()}\n```\n"


def rulebooks() -> Iterator[str]:
    """Every rulebook with the place it holds in, and how many of its rules ask what."""
    questions = " | ".join(QUESTIONS)
    yield f"| jurisdiction | rulebook | {questions} |\n|---|---|{'---|' * len(QUESTIONS)}"
    for book in shipped_rules().books:
        asked = Counter(rule.question for rule in book.rules)
        counts = " | ".join(str(asked[question] or "-") for question in QUESTIONS)
        yield f"| {book.jurisdiction} | {book.title} (`{book.id}`) | {counts} |"


def rules() -> Iterator[str]:
    """Every rule by question and jurisdiction, with its level, numbers and source."""
    books = shipped_rules().books
    for question in QUESTIONS:
        for jurisdiction in dict.fromkeys(book.jurisdiction for book in books):
            rows = [
                _rule_row(rule)
                for book in books
                for rule in book.rules
                if (book.jurisdiction, rule.question) == (jurisdiction, question)
            ]
            if rows:
                yield f"### {question.capitalize()}, {jurisdiction}\n"
                yield "| rule | says | numbers | level | basis and source |\n|---|---|---|---|---|"
                yield from rows
                yield ""


def _rule_row(rule: Rule) -> str:
    values = [
        f"{name.replace('_', ' ')} {value.text} from {value.starts}"
        for name, threshold in rule.thresholds.items()
        for value in threshold.values
    ]
    return (
        f"| `{rule.id}` | {rule.title} | {'; '.join(values) or '-'} | {rule.level} "
        f"| {rule.basis}: {rule.citation} |"
    )


def sources() -> Iterator[str]:
    """Every document that rules cite, how it was read, and how many rules rest on it."""
    books = shipped_rules()
    cited = Counter(
        source
        for book in books.books
        for rule in (*book.rules, *([book.scope] if book.scope else []))
        for source in _cited_by(rule)
    )
    yield "| id | document | edition | read as | rules | look again | note |\n" + "|---" * 7 + "|"
    for source in books.sources.values():
        yield (
            f"| `{source.id}` | {source.title} ({source.issuer}) | {source.edition} "
            f"| {source.read_as} | {cited[source.id]} | {source.look_again} "
            f"| {source.note or ''} |"
        )


def _cited_by(rule: Rule) -> set[str]:
    citations = [rule.citation] + [
        value.citation for threshold in rule.thresholds.values() for value in threshold.values
    ]
    return {each.source.id for each in citations if each.source is not None}


def coverage() -> Iterator[str]:
    """Every paragraph of the US federal rules and its home."""
    for covered in shipped_rules().coverages:
        homes = Counter(paragraph.home for paragraph in covered.paragraphs)
        total = ", ".join(f"{count} {home}" for home, count in homes.items())
        yield f"{covered.title}: {len(covered.paragraphs)} paragraphs, {total}.\n"
        yield "| paragraph | home | rules or reason |\n|---|---|---|"
        for paragraph in covered.paragraphs:
            rules = ", ".join(f"`{rule}`" for rule in paragraph.rules)
            yield f"| {paragraph.id} | {paragraph.home} | {rules or paragraph.reason or ''} |"


def law_by_place() -> Iterator[str]:
    """Each row of the law tables: how it was read, what it asks, and where it stands."""
    books = shipped_rules()
    rules = {rule.id: rule for book in books.books for rule in book.rules}
    yield "| subject | places | " + " | ".join(READINGS) + " | subject held |"
    yield "|---" * (len(READINGS) + 3) + "|"
    for table in books.law_tables:
        read = Counter(row.read for row in table.rows)
        counts = " | ".join(str(read[reading]) for reading in READINGS)
        held = sum(row.holds_subject for row in table.rows)
        yield f"| {table.title} | {len(table.rows)} | {counts} | {held} |"
    for table in books.law_tables:
        yield f"\n## {table.title}\n"
        yield "| place | read | asks | law | note | row |\n|---|---|---|---|---|---|"
        file = Path(table.file).relative_to("rules").as_posix()
        for row in table.rows:
            asked = [_asked(rules[name], row.name) for name in row.rules]
            asks = "; ".join(asked) or ("nothing" if row.holds_subject else "-")
            left = row.not_checked and f"Not checked: {row.not_checked}"
            note = " ".join(filter(None, [left, row.note]))
            where = f"[{Path(file).name}]({file}), line {row.location.mark.line}"
            law = "; ".join(row.citations) or "-"
            yield f"| {row.place} {row.name} | {row.read} | {asks} | {law} | {note} | {where} |"


def shapes() -> Iterator[str]:
    """Each shape of law, with the figures and words that a cell of it states."""
    yield "| shape | its rule | figures | words |\n|---|---|---|---|"
    for shape in shipped_rules().shapes.values():
        figures = "; ".join(
            f"`{name}` {KINDS[limit['kind']].noun}" for name, limit in shape.limits.items()
        )
        words = "; ".join(
            f"`{name}` {', '.join(accepted)}" for name, accepted in shape.choices.items()
        )
        title = shape.data["title"].removeprefix("[place]: ")
        yield f"| `{shape.id}` | {title} | {figures or '-'} | {words or '-'} |"


def _asked(rule: Rule, place: str) -> str:
    advice = " *(advice)*" if rule.level == "should" else ""
    return rule.title.removeprefix(f"{place}: ") + advice


def facts() -> Iterator[str]:
    """Every fact formulas may name."""
    yield "| fact | kind | for each | meaning | source |\n|---|---|---|---|---|"
    for name, fact in sorted(catalogue().items()):
        yield f"| `{name}` | {fact.kind} | {fact.each or '-'} | {fact.meaning} | {fact.source} |"


def units() -> Iterator[str]:
    """Every kind of quantity and its units."""
    yield "| kind | units | example |\n|---|---|---|"
    for kind in KINDS.values():
        yield f"| {kind.name} | {', '.join(kind.units) or '-'} | `{kind.example}` |"


def fields() -> Iterator[str]:
    """Every field of every kind of profile file."""
    for kind in _profile_kinds():
        yield f"### `kind: {kind}`\n\n| field | value | meaning |\n|---|---|---|"
        yield from _rows(definition(kind), "")
        yield ""


def _profile_kinds() -> list[str]:
    return [kind for kind, family in families().items() if family == PROFILE]


def _rows(node: Mapping[str, Any], path: str) -> Iterator[str]:
    for name, inner in node.get("properties", {}).items():
        if name == "kind":
            continue
        inner = resolved(inner)
        at = f"{path}{name}"
        refers = "else" in inner
        nested = inner.get("additionalProperties")
        if refers:
            yield f"| `{at}` | a file, or fields | {inner['description']} |"
        elif isinstance(nested, Mapping):
            yield f"| `{at}` | names | {inner['description']} |"
            yield from _rows(resolved(nested), f"{at}.*.")
        elif "properties" in inner:
            yield from _rows(inner, f"{at}.")
        else:
            yield f"| `{at}` | {_value(inner)} | {inner.get('description', '')} |"
            entry = resolved(inner.get("items", {}))
            # Trailers, machines and so on have tables of their own.
            if entry.get("record", "load") not in _profile_kinds():
                yield from _rows(entry, f"{at}.N.")


def _value(node: Mapping[str, Any]) -> str:
    if "enum" in node:
        return " / ".join(f"`{word}`" for word in node["enum"])
    if "quantity" in node:
        return str(node["quantity"])
    if node.get("format") == "date":
        return "day"
    if node.get("type") == "array":
        items = resolved(node["items"])
        return f"list of {_value(items)}" if "quantity" in items or "enum" in items else "list"
    return "text"


def findings() -> Iterator[str]:
    """Every column of the findings of an audit."""
    yield "| column | type | in rows of kind | meaning |\n|---|---|---|---|"
    for each in COLUMNS:
        yield f"| `{each.name}` | {each.type} | {', '.join(each.rows)} | {each.meaning} |"


BLOCKS: Mapping[str, Callable[[], Iterator[str]]] = {
    "commands": commands,
    "rulebooks": rulebooks,
    "rules": rules,
    "sources": sources,
    "coverage": coverage,
    "law_by_place": law_by_place,
    "shapes": shapes,
    "facts": facts,
    "units": units,
    "fields": fields,
    "findings": findings,
}
PAGES = (
    "checker/COMMANDS.md",
    "README.md",
    "rules/README.md",
    "rules/RULES.md",
    "rules/FACTS.md",
    "rules/sources.md",
    "rules/us/coverage.md",
    "rules/law-by-place.md",
    "profiles/README.md",
    "profiles/FIELDS.md",
    "DEVELOPERS.md",
)


def rewritten(text: str) -> str:
    """The page with every generated block made afresh."""

    def block(found: re.Match[str]) -> str:
        body = "\n".join(BLOCKS[found[1]]()).strip()
        return f"<!-- generated: {found[1]} -->\n{body}\n<!-- end -->"

    return re.sub(r"<!-- generated: (\w+) -->\n.*?<!-- end -->", block, text, flags=re.DOTALL)


def main() -> None:
    """Rewrite the pages in place."""
    for name in PAGES:
        page = ROOT / name
        page.write_text(rewritten(page.read_text()))


if __name__ == "__main__":
    main()
