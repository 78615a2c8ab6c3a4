"""Rule files to `Rulebooks`: read, validate, compile every formula, hold names and dates to order.

All problems of all files are raised together, each at its line.
"""

import hashlib
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import cache, partial
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from checker.documents.document import Document
from checker.documents.folders import Ignored
from checker.documents.kept import Kept
from checker.documents.problems import (
    MOST_OF_A_FILE,
    DataPath,
    Problem,
    ProblemsFoundError,
    hint,
    listed,
)
from checker.documents.validate import validate
from checker.facts.catalogue import ANSWER, Each, Fact, catalogue
from checker.facts.unmarked import UnmarkedRating, UnmarkedRatings
from checker.rulebooks.amending import missing_place, read_changes
from checker.rulebooks.dimensions import YES_NO, Dimension, FormulaFaults, YesNo
from checker.rulebooks.formula import Formula, compile_formula
from checker.rulebooks.left_out import Trips, left_out
from checker.rulebooks.model import (
    Amendment,
    Change,
    Citation,
    Coverage,
    DatedValue,
    Paragraph,
    Place,
    Proof,
    RatingsTable,
    Rule,
    Rulebook,
    Rulebooks,
    Source,
    TableProof,
    Threshold,
)
from checker.rulebooks.rule_files import read_rule_files
from checker.units.parsing import KINDS, Quantity, UnitError, parse, parse_threshold
from checker.units.words import with_own_units


def load_rulebooks(
    folder: Path,
    *,
    with_proofs: bool = False,
    known: Mapping[str, Source] | None = None,
    edited: Mapping[Path, str] | None = None,
    trips: Trips | None = None,
    kept: Kept | None = None,
    ignored: Ignored | None = None,
) -> Rulebooks:
    """Everything in the YAML files of a folder and the folders in it, or in one file.

    `edited` holds texts to read in place of files, for an edit that is tried before it is made;
    its paths are whole. Proofs are left out unless asked for: a check does not need them, and they
    are most of the text. Rules may also cite the `known` sources. With `trips` the rules of books
    that these do not touch are left out, and so are lists of what becomes of each paragraph. What
    is `kept` is not parsed again. Raises ProblemsFoundError with every problem of every file read.
    """
    # Rule files travel: under another organisation's settings they must not say something else.
    with with_own_units(()):
        documents = read_rule_files(
            folder,
            first_only=frozenset() if with_proofs else _PROOFS,
            edited=edited or {},
            trips=trips,
            kept=kept or Kept(None),
            ignored=ignored,
        )
        return _Loading(documents, with_proofs=with_proofs, known=known or {}).rulebooks()


def dimension_of(fact: Fact) -> Dimension | YesNo:
    """The dimension a fact has in formulas."""
    return YES_NO if fact.kind == ANSWER else KINDS[fact.kind].dimension


def names_in_reach(
    each: Each | None, thresholds: Mapping[str, Threshold]
) -> dict[str, Dimension | YesNo]:
    """What a rule's formulas may speak of: facts that fit its `for_each`, and its thresholds.

    A rule for each tiedown may also speak of the article the tiedown holds.
    """
    names = dict(_facts_in_reach(each))
    for name, threshold in thresholds.items():
        if threshold.values:
            names[name] = KINDS[threshold.values[0].quantity.kind].dimension
    return names


@cache
def _facts_in_reach(each: Each | None) -> Mapping[str, Dimension | YesNo]:
    fitting = {None, each, "article" if each == "tiedown" else each}
    return {name: dimension_of(fact) for name, fact in catalogue().items() if fact.each in fitting}


_PROOFS = frozenset({"proofs"})


class _Loading:
    """One pass over a set of rule files that belong together."""

    def __init__(
        self, documents: Sequence[Document], *, with_proofs: bool, known: Mapping[str, Source]
    ) -> None:
        self.with_proofs = with_proofs
        self.facts = catalogue()
        self.problems: list[Problem] = []
        self.sources: dict[str, Source] = dict(known)
        self.first: dict[tuple[str, str], Place] = {}
        self.documents: list[Document] = []
        for document in documents:
            found = document.problems + (validate(document) if document.whole else [])
            self.problems += found
            if not found:
                self.documents.append(document)

    def rulebooks(self) -> Rulebooks:
        """All of it, or all the problems."""
        for document in self._of_kind("sources"):
            self._read_sources(document)
        books = [self._book(document) for document in self._of_kind("rulebook")]
        amendments: list[Amendment] = []
        changes: list[Change] = []
        for document in self._of_kind("amendment"):
            amendment = self._amendment(document)
            amendments.append(amendment)
            changes += self._changes(document, amendment)
            if "rules" in _data(document):
                books.append(self._book(document))
        tables = [self._table(document) for document in self._of_kind("ratings")]
        if self.problems:
            raise ProblemsFoundError(self.problems)
        coverages = [
            self._coverage(document) for document in self._of_kind("coverage") if document.whole
        ]
        return Rulebooks(
            books=tuple(books),
            tables=tuple(tables),
            sources=self.sources,
            coverages=tuple(coverages),
            amendments=tuple(amendments),
            changes=tuple(changes),
        )

    def _of_kind(self, kind: str) -> Iterator[Document]:
        return (each for each in self.documents if _data(each)["kind"] == kind)

    def _once(self, what: str, name: str, document: Document, path: DataPath) -> None:
        """Note an id and complain when it stood somewhere already."""
        place = Place(document.file, document.value_mark(path))
        first = self.first.setdefault((what, name), place)
        if first != place:
            wanted = f"an id of its own for each {what}; it stands at {first}"
            self.problems.append(document.problem(path, f"the id '{name}' again", wanted))

    def _read_sources(self, document: Document) -> None:
        for index, data in enumerate(_data(document)["sources"]):
            self._once("source", data["id"], document, ("sources", index, "id"))
            look_again = date.fromisoformat(data["look_again"])
            place = Place(document.file, document.value_mark(("sources", index, "look_again")))
            stated = {**data, "look_again": look_again, "place": place}
            self.sources[data["id"]] = Source(**stated)

    def _cited(self, data: Mapping[str, Any], document: Document, path: DataPath) -> Citation:
        """The citation of a rule or a value; an unknown document is a problem."""
        wanted = data.get("source")
        if wanted is None:
            return Citation(None)
        if wanted not in self.sources:
            guess = hint(wanted, self.sources, self.problems)
            self.problems.append(
                document.problem(
                    (*path, "source"),
                    f"the source '{wanted}'",
                    f"a document of sources.yaml: {listed(self.sources)}",
                    guess,
                )
            )
            return Citation(None)
        return Citation(self.sources[wanted], data["at"])

    def _amendment(self, document: Document) -> Amendment:
        data = _data(document)
        self._once("amendment", data["id"], document, ("id",))
        amendment = Amendment(
            id=data["id"],
            title=data["title"],
            layer=data["layer"],
            jurisdiction=data["jurisdiction"],
            digest=_digest(document),
            file=document.file,
        )
        if missing_place(amendment):
            wanted = "the country or state whose law it is, such as US-UT"
            self.problems.append(document.problem(("jurisdiction",), "'any'", wanted))
        if not {"changes", "repeals", "rules"} & data.keys():
            found = "an amendment that changes nothing"
            self.problems.append(document.problem((), found, "`changes`, `repeals` or `rules`"))
        return amendment

    def _changes(self, document: Document, amendment: Amendment) -> Iterator[Change]:
        return read_changes(
            document,
            amendment,
            cited=lambda data, path: self._cited(data, document, path),
            measured=lambda stated, path: self._quantity(stated, document, path),
        )

    def _book(self, document: Document) -> Rulebook:
        data = _data(document)
        self._once("rulebook", data["id"], document, ("id",))
        if not document.whole:
            return left_out(document, _digest(document))
        proved_on = date.fromisoformat(data["proved_on"])
        scope = None
        if "applies" in data:
            stated = data["applies"]
            as_rule = {
                "id": f"{data['id']}-applies",
                "title": f"{data['title']}: in force for this load",
                "question": "limits",
                # What is in force is in force: the scope's own formula is its `when`.
                "requires": "0 == 0",
                "basis": "common practice",
                "level": "must",
                "fix": "",
                **stated,
            }
            scope = self._rule(as_rule, document, ("applies",), proved_on)
        return Rulebook(
            id=data["id"],
            title=data["title"],
            jurisdiction=data["jurisdiction"],
            scope=scope,
            rules=tuple(
                self._rule(rule, document, ("rules", index), proved_on)
                for index, rule in enumerate(data["rules"])
            ),
            digest=_digest(document),
            file=document.file,
        )

    def _rule(
        self,
        data: Mapping[str, Any],
        document: Document,
        path: DataPath,
        proved_on: date,
    ) -> Rule:
        self._once("rule", data["id"], document, (*path, "id"))
        each: Each | None = data.get("for_each")
        thresholds = {
            name: self._threshold(name, stated, document, (*path, "thresholds", name))
            for name, stated in data.get("thresholds", {}).items()
        }
        names = names_in_reach(each, thresholds)
        faults_before = len(self.problems)
        compiled = partial(self._formula, names=names, each=each, document=document)
        when = None
        if "when" in data:
            when = compiled(data["when"], path=(*path, "when"))
        requires = compiled(data["requires"], path=(*path, "requires"))
        shows = {
            label: compiled(text, path=(*path, "shows", label), result="number")
            for label, text in data.get("shows", {}).items()
        }
        rule = Rule(
            id=data["id"],
            title=data["title"],
            question=data["question"],
            for_each=each,
            when=when,
            requires=requires,
            thresholds=thresholds,
            shows=shows,
            citation=self._cited(data, document, path),
            basis=data["basis"],
            level=data["level"],
            because=data["because"],
            fix=data["fix"],
            place=Place(document.file, document.value_mark(path)),
            about=data.get("about"),
            usual_at_limit="usual_at_limit" in data,
        )
        if len(self.problems) > faults_before:
            # Names cannot be held against formulas that were not understood.
            return rule
        self._unused_thresholds(rule, document, path)
        if not self.with_proofs:
            return rule
        proofs = [
            self._proof(proof, rule, document, (*path, "proofs", index), proved_on)
            for index, proof in enumerate(data["proofs"])
        ]
        return replace(rule, proofs=tuple(proofs))

    def _formula(
        self,
        text: str,
        *,
        path: DataPath,
        names: Mapping[str, Dimension | YesNo],
        each: Each | None,
        document: Document,
        result: str = "truth",
    ) -> Formula:
        sort: Any = result
        try:
            return compile_formula(text, names, result=sort)
        except FormulaFaults as faults:
            for fault in faults.faults:
                word = fault.found
                unfit = next((f for f in self.facts.values() if f"`{f.name}`" in word), None)
                wanted, told = fault.wanted, len(self.problems) < MOST_OF_A_FILE
                guess = fault.suggestion if told else None
                if unfit is not None and unfit.name not in names:
                    here = f"`for_each: {each}`" if each else "a rule without `for_each`"
                    wanted = f"`for_each: {unfit.each}`, since this fact is of one; found {here}"
                    guess = None
                mark = document.mark_inside(path, fault.offset)
                shown = guess and f"'{guess}'"
                self.problems.append(Problem(document.file, mark, word, wanted, shown))
        return compile_formula("0 == 0", {}, result="truth")

    def _threshold(
        self, name: str, data: Mapping[str, Any], document: Document, path: DataPath
    ) -> Threshold:
        if name in self.facts:
            self.problems.append(
                document.problem(path, f"the threshold name '{name}'", "a name that is no fact")
            )
        values = [
            value
            for index, stated in enumerate(data["values"])
            if (value := self._dated(stated, document, (*path, "values", index)))
        ]
        dimensions = {KINDS[value.quantity.kind].dimension for value in values}
        if len(dimensions) > 1:
            found = "values of different kinds in one threshold"
            self.problems.append(document.problem(path, found, "one kind of quantity"))
        values.sort(key=lambda value: value.starts)
        for earlier, later in itertools.pairwise(values):
            if earlier.ends is None or earlier.ends > later.starts:
                found = f"a value from {later.starts} while the one before still holds"
                wanted = f"`until: {later.starts}` or earlier on the value from {earlier.starts}"
            elif earlier.ends < later.starts:
                found = f"no value from {earlier.ends} until {later.starts}"
                wanted = "values that follow each other without a gap"
            else:
                continue
            self.problems.append(Problem(later.place.file, later.place.mark, found, wanted))
        return Threshold(name, data["stricter"], tuple(values))

    def _dated(
        self, data: Mapping[str, Any], document: Document, path: DataPath
    ) -> DatedValue | None:
        starts = date.fromisoformat(data["from"])
        ends = date.fromisoformat(data["until"]) if "until" in data else None
        if ends is not None and ends <= starts:
            found = f"`until: {ends}`"
            self.problems.append(document.problem((*path, "until"), found, f"after {starts}"))
        quantity = self._quantity(data["value"], document, (*path, "value"))
        metric = None
        if "metric_print" in data:
            metric = self._quantity(data["metric_print"], document, (*path, "metric_print"))
        if quantity is None:
            return None
        return DatedValue(
            quantity=quantity,
            text=str(data["value"]),
            metric_print=metric,
            metric_text=data.get("metric_print"),
            starts=starts,
            ends=ends,
            citation=self._cited(data, document, path),
            note=data.get("note"),
            place=Place(document.file, document.value_mark(path)),
        )

    def _quantity(
        self, stated: str | int | float, document: Document, path: DataPath
    ) -> Quantity | None:
        try:
            return parse_threshold(stated)
        except UnitError as error:
            guess = error.suggestion and f"'{error.suggestion}'"
            self.problems.append(document.problem(path, f"'{stated}'", error.wanted, guess))
            return None

    def _unused_thresholds(self, rule: Rule, document: Document, path: DataPath) -> None:
        used = {name for formula in rule.formulas for name in formula.names}
        for name in rule.thresholds:
            if name not in used:
                where = (*path, "thresholds", name)
                wanted = "a threshold that one of the rule's formulas uses"
                self.problems.append(document.problem(where, f"'{name}', used nowhere", wanted))

    def _proof(
        self,
        data: Mapping[str, Any],
        rule: Rule,
        document: Document,
        path: DataPath,
        proved_on: date,
    ) -> Proof:
        given: dict[str, float] = {}
        metric = False
        for name, stated in data["given"].items():
            at = (*path, "given", name)
            if name not in rule.facts:
                guess = hint(name, rule.facts, self.problems)
                wanted = f"a fact the rule uses: {listed(rule.facts)}"
                self.problems.append(document.problem(at, f"'{name}'", wanted, guess))
                continue
            value, in_metric = self._given(stated, self.facts[name].kind, document, at)
            given[name] = value
            metric = metric or in_metric
        shows: dict[str, float] = {}
        for label, stated in data.get("shows", {}).items():
            at = (*path, "shows", label)
            if label not in rule.shows:
                wanted = f"a figure the rule shows: {listed(rule.shows)}"
                self.problems.append(document.problem(at, f"'{label}'", wanted))
            if stated == "not stated":
                shows[label] = math.nan
                continue
            quantity = self._quantity(stated, document, at)
            shows[label] = quantity.value if quantity else 0.0
        return Proof(
            name=data["name"],
            on=date.fromisoformat(data["on"]) if "on" in data else proved_on,
            given=given,
            metric=metric,
            expect=data["expect"],
            shows=shows,
            origin=data["origin"],
            place=Place(document.file, document.value_mark(path)),
        )

    def _given(
        self, stated: str | int | float, kind: str, document: Document, path: DataPath
    ) -> tuple[float, bool]:
        """A given fact as a number, and whether it is stated in metric units."""
        if kind == ANSWER:
            if stated not in ("yes", "no"):
                self.problems.append(document.problem(path, f"'{stated}'", "yes or no"))
            return float(stated == "yes"), False
        try:
            quantity = parse(str(stated), kind)
        except UnitError as error:
            guess = error.suggestion and f"'{error.suggestion}'"
            self.problems.append(document.problem(path, f"'{stated}'", error.wanted, guess))
            return 0.0, False
        return quantity.value, quantity.metric is True

    def _coverage(self, document: Document) -> Coverage:
        data = _data(document)
        return Coverage(
            title=data["title"],
            jurisdiction=data["jurisdiction"],
            source=self.sources.get(data["source"]),
            paragraphs=tuple(
                Paragraph(
                    id=stated["id"],
                    home=stated["home"],
                    rules=tuple(stated.get("rules", ())),
                    reason=stated.get("reason"),
                    place=Place(document.file, document.value_mark(("paragraphs", index))),
                )
                for index, stated in enumerate(data["paragraphs"])
            ),
        )

    def _table(self, document: Document) -> RatingsTable:
        data = _data(document)
        self._once("table", data["id"], document, ("id",))
        ratings = UnmarkedRatings(
            rows=tuple(
                _cell(row, parse(row["working_load_limit"], "load").value) for row in data["rows"]
            ),
            counts_as={
                (entry["device"], entry.get("grade")): (
                    entry["reads_device"],
                    entry.get("reads_grade"),
                )
                for entry in data.get("counts_as", [])
            },
        )
        proved_on = date.fromisoformat(data["proved_on"])
        return RatingsTable(
            id=data["id"],
            title=data["title"],
            jurisdiction=data["jurisdiction"],
            citation=self._cited(data, document, ()),
            starts=date.fromisoformat(data["from"]),
            ends=date.fromisoformat(data["until"]) if "until" in data else None,
            ratings=ratings,
            digest=_digest(document),
            file=document.file,
            proofs=tuple(self._table_proofs(document, proved_on)) if self.with_proofs else (),
        )

    def _table_proofs(self, document: Document, proved_on: date) -> Iterator[TableProof]:
        for index, data in enumerate(_data(document)["proofs"]):
            path: DataPath = ("proofs", index)
            expect = None
            if data["expect"] != "no value":
                quantity = self._quantity(data["expect"], document, (*path, "expect"))
                expect = quantity.value if quantity else None
            yield TableProof(
                name=data.get("name", f"{data['device']} {data.get('grade', '')} {data['size']}"),
                on=date.fromisoformat(data["on"]) if "on" in data else proved_on,
                asked=_cell(data, 0.0),
                expect=expect,
                origin=data["origin"],
                place=Place(document.file, document.value_mark(path)),
            )


def _data(document: Document) -> dict[str, Any]:
    assert isinstance(document.data, dict)
    return document.data


def _cell(data: Mapping[str, Any], limit: float) -> UnmarkedRating:
    thickness = parse(data["thickness"], "length").value if "thickness" in data else None
    size = parse(data["size"], "length").value
    return UnmarkedRating(data["device"], data.get("grade"), size, thickness, limit)


def _digest(document: Document) -> str:
    return hashlib.sha256(document.text.encode()).hexdigest()[:16]
