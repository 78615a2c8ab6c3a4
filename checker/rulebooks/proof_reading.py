"""Proofs of rule files: worked cases of rules, and of tables of unmarked devices."""

import math
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from checker.documents.document import Document
from checker.documents.problems import DataPath, listed, suggestion_for
from checker.facts.catalogue import ANSWER, catalogue
from checker.facts.unmarked import UnmarkedRating
from checker.rulebooks.model import Proof, Rule
from checker.rulebooks.rating_tables import TableProof
from checker.rulebooks.rule_file_set import RuleFileSet, data_of, location
from checker.units.parsing import UnitError, parse


def read_proof(
    data: Mapping[str, Any],
    rule: Rule,
    document: Document,
    path: DataPath,
    proved_on: date,
    files: RuleFileSet,
) -> Proof:
    """One worked case of a rule; without a day of its own it is evaluated on `proved_on`."""
    given: dict[str, float] = {}
    metric = False
    for name, stated in data["given"].items():
        at = (*path, "given", name)
        if name not in rule.facts:
            guess = suggestion_for(name, rule.facts, files.problems)
            wanted = f"a fact the rule uses: {listed(rule.facts)}"
            files.problems.append(document.problem(at, f"'{name}'", wanted, guess))
            continue
        value, in_metric = _read_given(stated, catalogue()[name].kind, document, at, files)
        given[name] = value
        metric = metric or in_metric
    shows: dict[str, float] = {}
    for label, stated in data.get("shows", {}).items():
        at = (*path, "shows", label)
        if label not in rule.shows:
            wanted = f"a figure the rule shows: {listed(rule.shows)}"
            files.problems.append(document.problem(at, f"'{label}'", wanted))
        if stated == "not stated":
            shows[label] = math.nan
            continue
        quantity = files.read_quantity(stated, document, at)
        shows[label] = quantity.value if quantity else 0.0
    return Proof(
        name=data["name"],
        on=date.fromisoformat(data["on"]) if "on" in data else proved_on,
        given=given,
        metric=metric,
        expect=data["expect"],
        shows=shows,
        origin=data["origin"],
        location=location(document, path),
    )


def _read_given(
    stated: str | int | float, kind: str, document: Document, path: DataPath, files: RuleFileSet
) -> tuple[float, bool]:
    """A given fact as a number, and whether it is stated in metric units."""
    if kind == ANSWER:
        if stated not in ("yes", "no"):
            files.problems.append(document.problem(path, f"'{stated}'", "yes or no"))
        return float(stated == "yes"), False
    try:
        quantity = parse(str(stated), kind)
    except UnitError as error:
        files.add_unit_problem(error, stated, document, path)
        return 0.0, False
    return quantity.value, quantity.metric is True


def read_table_proofs(
    document: Document, proved_on: date, files: RuleFileSet
) -> Iterator[TableProof]:
    """The worked cases of a table of unmarked devices."""
    for index, data in enumerate(data_of(document)["proofs"]):
        path: DataPath = ("proofs", index)
        expect = None
        if data["expect"] != "no value":
            quantity = files.read_quantity(data["expect"], document, (*path, "expect"))
            expect = quantity.value if quantity else None
        yield TableProof(
            name=data.get("name", f"{data['device']} {data.get('grade', '')} {data['size']}"),
            on=date.fromisoformat(data["on"]) if "on" in data else proved_on,
            asked=table_row(data, 0.0),
            expect=expect,
            origin=data["origin"],
            location=location(document, path),
        )


def table_row(data: Mapping[str, Any], limit: float) -> UnmarkedRating:
    """A device with its sizes, as a row of a table with that limit, in N."""
    thickness = parse(data["thickness"], "length").value if "thickness" in data else None
    size = parse(data["size"], "length").value
    return UnmarkedRating(data["device"], data.get("grade"), size, thickness, limit)
