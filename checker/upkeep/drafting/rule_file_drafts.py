"""The drafts of rule files beside rulebooks: amendment, variances, sources, ratings, coverage."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from checker.documents.document import Data
from checker.upkeep.drafting.draft import CHOSEN, Draft

_MORE = "Lines that begin with `# ` are further fields."
_A_YEAR = timedelta(days=365)
_A_MONTH = timedelta(days=30)
_THICK = "0.5 in"


def rule_file_drafts(day: date) -> Mapping[str, Draft]:
    """The drafts by kind; `day` is the first day of what they state."""
    return {
        "amendment": _amendment(day),
        "variances": _variances(day),
        "sources": _sources(day),
        "ratings": _ratings(day),
        "coverage": _coverage(),
    }


def _draft(
    kind: str,
    stated: dict[str, Data],
    outline: dict[str, Any],
    opening: tuple[str, ...],
    asked: tuple[str, ...] = (),
) -> Draft:
    return Draft(
        kind=kind,
        opening=(*opening, _MORE),
        stated={"kind": kind, **stated},
        outline=outline,
        every_field=False,
        questions=dict.fromkeys(asked),
    )


def _amendment(day: date) -> Draft:
    change: dict[str, Data] = {
        "rule": "tongue-share-ball",
        "threshold": "heaviest",
        "was": "15 %",
        "value": "15 %",
        "from": day.isoformat(),
        "common_practice": "yes",
    }
    more = dict.fromkeys(("until", "source", "at", "because", "by"))
    return _draft(
        "amendment",
        {
            "id": "our-changes",
            "title": "Changes by the company",
            "layer": "company",
            "jurisdiction": "any",
            "changes": [change],
        },
        {
            **dict.fromkeys(("id", "title", "layer", "jurisdiction")),
            "changes": [{**dict.fromkeys(change), **more}],
        },
        (
            "Changes to rules. The one below changes nothing, as its value is the rulebook's own:",
            "put yours in place, or let `cinchbook amend` write it. It is in force where the",
            "setting `amendments` names its folder; `cinchbook impact` shows what it does.",
        ),
        ("id", "title", "jurisdiction"),
    )


def _variances(day: date) -> Draft:
    given: dict[str, Data] = {
        "rule": "first-load-check-early",
        "uses": ["trailers/our-trailer"],
        "because": "why the rule cannot be met",
        "conditions": "what to keep to instead",
        "by": "who answers for it",
        "from": day.isoformat(),
        "until": (day + _A_MONTH).isoformat(),
    }
    return _draft(
        "variances",
        {"id": "our-variances", "title": "Our variances", "variances": [given]},
        {
            **dict.fromkeys(("id", "title")),
            "variances": [{**dict.fromkeys(given), "crews": None, "every_load": None}],
        },
        (
            "Who may go against which rule, with which loads, until when. Each is for loads that",
            "use all files in `uses`, hauled by one of the `crews`, or `every_load: yes` alone.",
            "`cinchbook variances` lists them; no must-rule of law can be excused.",
        ),
        ("id", "title"),
    )


def _sources(day: date) -> Draft:
    source: dict[str, Data] = {
        "id": "our-policy",
        "title": "Our hauling policy",
        "issuer": "our company",
        "edition": f"as of {day.isoformat()}",
        "jurisdiction": "any",
        "read_as": "text seen",
        "read_on": day.isoformat(),
        "look_again": (day + _A_YEAR).isoformat(),
    }
    return _draft(
        "sources",
        {"sources": [source]},
        {"sources": [{**dict.fromkeys(source), "note": CHOSEN}]},
        (
            "Documents that our rules and amendments cite, each once, and those read again.",
            "`cinchbook sources` lists all of them; `cinchbook sources ID --read-on DAY --by NAME`",
            "notes here that one was read again.",
        ),
    )


def _ratings(day: date) -> Draft:
    device: dict[str, Data] = {"device": "chain", "grade": "70", "size": "3/8 in"}
    limit = "6600 lb"

    def proof(name: str, on: date, expect: str, origin: str) -> Data:
        stated: dict[str, Data] = {"name": name, "on": on.isoformat(), **device}
        return {**stated, "expect": expect, "origin": origin}

    row: dict[str, Data] = {**device, "working_load_limit": limit}
    before = day - timedelta(days=1)
    return _draft(
        "ratings",
        {
            "id": "our-devices",
            "title": "Limits of our devices without a mark",
            "jurisdiction": "any",
            "source": "makers-labels",
            "at": "page of the maker's list",
            "from": day.isoformat(),
            "proved_on": day.isoformat(),
            "goes_before": "us-working-load-limits",
            "rows": [row],
            "proofs": [
                proof("on the first day", day, limit, "the maker's list"),
                proof("the day before", before, "no value", "not adopted yet"),
            ],
        },
        {
            **dict.fromkeys(("id", "title", "jurisdiction", "source", "at", "from", "until")),
            **dict.fromkeys(("proved_on", "goes_before")),
            "rows": [{**dict.fromkeys(device), "thickness": _THICK, "working_load_limit": CHOSEN}],
            "proofs": [
                {
                    **dict.fromkeys(("name", "on", *device)),
                    "thickness": _THICK,
                    **dict.fromkeys(("expect", "origin")),
                }
            ],
        },
        (
            "Working load limits of devices without a readable mark, one row as a model. Its rows",
            "count before those of the table named by `goes_before`, which prints the same limit",
            "for this chain; `replaces` in its place leaves that table out.",
        ),
        ("id", "title"),
    )


def _coverage() -> Draft:
    paragraph: dict[str, Data] = {
        "id": "1.1",
        "home": "heading only",
        "reason": "A heading: put the first paragraph in its place.",
    }
    return _draft(
        "coverage",
        {
            "jurisdiction": "US-UT-BASIN",
            "title": "A county's code, chapter 12",
            "source": "makers-labels",
            "paragraphs": [paragraph],
        },
        {
            **dict.fromkeys(("jurisdiction", "title", "source")),
            "paragraphs": [{**dict.fromkeys(paragraph), "rules": CHOSEN}],
        },
        (
            "Every paragraph of a law and its home here: the rules that carry it, or why none does",
            "so. Put the place, the document and its paragraphs in place of these; then",
            "`cinchbook coverage PLACE` names what has no home.",
        ),
        ("jurisdiction", "title"),
    )
