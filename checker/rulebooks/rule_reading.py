"""Reads one rule of a rule file: its thresholds, formulas and proofs."""

from collections.abc import Mapping
from datetime import date
from functools import cache, lru_cache, partial
from typing import Any, Literal

from msgspec.structs import replace

from checker.documents.document import Document
from checker.documents.problems import MOST_OF_A_FILE, DataPath, Problem
from checker.facts.catalogue import ANSWER, Each, Fact, catalogue
from checker.rulebooks.days import Stretch
from checker.rulebooks.dimensions import YES_NO, Dimension, FormulaFaults, YesNo
from checker.rulebooks.formula import Formula, compile_formula
from checker.rulebooks.model import Rule, Threshold
from checker.rulebooks.proof_reading import read_proof
from checker.rulebooks.rule_file_set import RuleFileSet, location
from checker.rulebooks.rule_text import RuleText, unknown_names
from checker.rulebooks.threshold_reading import read_threshold
from checker.units.parsing import KINDS


def dimension_of(fact: Fact) -> Dimension | YesNo:
    """The dimension of a fact in formulas."""
    return YES_NO if fact.kind == ANSWER else KINDS[fact.kind].dimension


def compile_in_rule(
    text: str,
    each: Each | None,
    thresholds: Mapping[str, Threshold],
    *,
    result: Literal["truth", "number"] = "truth",
) -> Formula:
    """The compiled formula of a rule: over facts that fit its `for_each`, and its thresholds.

    A rule for each tiedown may also use facts of the article that the tiedown holds. The rules of a
    law table share most of their formulas, so each is compiled once. Raises FormulaFaults.
    """
    own = tuple(
        (name, KINDS[threshold.values[0].quantity.kind].dimension)
        for name, threshold in thresholds.items()
        if threshold.values
    )
    return _compiled(text, each, own, result)


@lru_cache(maxsize=4096)
def _compiled(
    text: str,
    each: Each | None,
    own: tuple[tuple[str, Dimension], ...],
    result: Literal["truth", "number"],
) -> Formula:
    return compile_formula(text, {**_fact_names(each), **dict(own)}, result=result)


@cache
def _fact_names(each: Each | None) -> Mapping[str, Dimension | YesNo]:
    usable = {None, each, "article" if each == "tiedown" else each}
    return {name: dimension_of(fact) for name, fact in catalogue().items() if fact.each in usable}


def read_rule(
    data: Mapping[str, Any],
    document: Document,
    path: DataPath,
    proved_on: date,
    files: RuleFileSet,
    *,
    with_proofs: bool,
    of_book: Stretch | None = None,
) -> Rule:
    """The rule at a path of a document; every problem in it is added to `files`.

    `of_book` are the days of its rulebook.
    """
    files.note_id("rule", data["id"], document, (*path, "id"))
    each: Each | None = data.get("for_each")
    own_days = files.read_stretch(data, document, path)
    thresholds = {
        name: read_threshold(name, stated, document, (*path, "thresholds", name), files)
        for name, stated in data.get("thresholds", {}).items()
    }
    problems_before = len(files.problems)
    compiled = partial(_compile, each=each, thresholds=thresholds, document=document, files=files)
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
        text=_read_text(data, thresholds, document, path, files),
        question=data["question"],
        for_each=each,
        when=when,
        requires=requires,
        thresholds=thresholds,
        shows=shows,
        citation=files.cite(data, document, path),
        basis=data["basis"],
        level=data["level"],
        location=location(document, path),
        about=data.get("about"),
        usual_at_limit="usual_at_limit" in data,
        days=own_days.of_both(of_book) if own_days else of_book,
    )
    if len(files.problems) > problems_before:
        # The names of a formula that did not compile are not known.
        return rule
    _check_thresholds_used(rule, document, path, files)
    if not with_proofs:
        return rule
    proofs = [
        read_proof(proof, rule, document, (*path, "proofs", index), proved_on, files)
        for index, proof in enumerate(data["proofs"])
    ]
    return replace(rule, proofs=tuple(proofs))


def _read_text(
    data: Mapping[str, Any],
    thresholds: Mapping[str, Threshold],
    document: Document,
    path: DataPath,
    files: RuleFileSet,
) -> RuleText:
    """The texts of a rule; names in braces that are no thresholds are added to `files`."""
    texts = {name: data[name] for name in RuleText.__struct_fields__ if name in data}
    for name, text in texts.items():
        for found, wanted, near in unknown_names(text, thresholds):
            at = document.problem((*path, name), found, wanted)
            files.problems.append(Problem(at.file, at.mark, found, wanted, near))
    return RuleText(**texts)


def _compile(
    text: str,
    *,
    path: DataPath,
    each: Each | None,
    thresholds: Mapping[str, Threshold],
    document: Document,
    files: RuleFileSet,
    result: Literal["truth", "number"] = "truth",
) -> Formula:
    """The compiled formula; one that is always met, with its problems added, if it has faults."""
    try:
        return compile_in_rule(text, each, thresholds, result=result)
    except FormulaFaults as faults:
        for fault in faults.faults:
            word = fault.found
            unfit = next((f for f in catalogue().values() if f"`{f.name}`" in word), None)
            wanted, is_printed = fault.wanted, len(files.problems) < MOST_OF_A_FILE
            guess = fault.suggestion if is_printed else None
            if unfit is not None and unfit.name not in {**_fact_names(each), **thresholds}:
                here = f"`for_each: {each}`" if each else "a rule without `for_each`"
                wanted = f"`for_each: {unfit.each}`, since this fact is of one; found {here}"
                guess = None
            at = document.located_inside(path, fault.offset)
            quoted = guess and f"'{guess}'"
            files.problems.append(Problem(*at, word, wanted, quoted))
    return compile_formula("0 == 0", {}, result="truth")


def _check_thresholds_used(
    rule: Rule, document: Document, path: DataPath, files: RuleFileSet
) -> None:
    used = {name for formula in rule.formulas for name in formula.names}
    for name in rule.thresholds:
        if name not in used:
            where = (*path, "thresholds", name)
            wanted = "a threshold that one of the rule's formulas uses"
            files.problems.append(document.problem(where, f"'{name}', which is not used", wanted))
