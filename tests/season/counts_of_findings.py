"""The counts of an audit from its file of findings alone, by plain loops over the rows.

Shares nothing with the program: what a column means is taken from the file and the documentation.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

Row = Mapping[str, Any]
DECIDED = ("not met", "too close to call", "met")
VERDICTS = (*DECIDED, "not stated")


def document(rows: Iterable[Row]) -> dict[str, Any]:
    """Every count that the JSON document of the audit prints."""
    every = list(rows)
    hauls = [row for row in every if row["kind"] == "haul"]
    findings = [row for row in every if row["kind"] == "finding"]
    refused = sorted((row for row in every if row["kind"] == "refused"), key=lambda row: row["row"])
    by: dict[str, dict[str, list[Row]]] = {kind: {} for kind in KINDS}
    for haul in hauls:
        for kind, name in names(haul):
            by[kind].setdefault(name, []).append(haul)
    rules = {name: rule(hauls, findings, name) for name in rules_of(hauls, findings)}
    missing = {(each["row"], field) for each in findings for field in each["missing"] or ()}
    return {
        "read": len(hauls) + len(refused),
        "judged": len(hauls),
        "refused": len(refused),
        "refusals": [{"row": each["row"], "said": each["reason"]} for each in refused],
        "totals": tally(hauls),
        "by": {
            kind: {name: titled(kind, name, some) for name, some in named.items()}
            for kind, named in by.items()
        },
        "rules": rules,
        "never_decided": {
            name: sorted(each["not_stated"])
            for name, each in rules.items()
            if each["verdicts"]["not stated"]
            and not any(each["verdicts"][verdict] for verdict in DECIDED)
        },
        "not_stated": Counter(field for _, field in missing),
        "unread_places": Counter(place for haul in hauls for place in haul["unread_places"]),
        "unread_subjects": unread_subjects(hauls),
        "doubtful_figures": Counter(name for haul in hauls for name in haul["doubtful"]),
    }


KINDS = ("load", "trailer", "machine", "tow vehicle", "crew", "month")


def names(row: Row) -> list[tuple[str, str]]:
    """What a haul counts for; of several machines for each."""
    return [
        ("load", row["load"]),
        ("trailer", row["trailer"]),
        *(("machine", each) for each in row["machine"]),
        ("tow vehicle", row["tow_vehicle"]),
        ("crew", row["crew"]),
        ("month", row["date"][:7]),
    ]


def titled(kind: str, name: str, hauls: list[Row]) -> dict[str, Any]:
    """The counts of a trailer, machine or tow vehicle with its title; of others, as they are."""
    if kind not in ("trailer", "machine", "tow vehicle"):
        return tally(hauls)
    first = hauls[0]
    key = kind.replace(" ", "_")
    titles = first[f"{key}_title"]
    title = titles[first[key].index(name)] if kind == "machine" else titles
    return {"title": title, **tally(hauls)}


def tally(hauls: Iterable[Row]) -> dict[str, int]:
    """The number of hauls by outcome."""
    some = list(hauls)
    outcomes = Counter(each["outcome"] for each in some)
    return {
        "hauls": len(some),
        "held": outcomes["hold"],
        "open": outcomes["open"],
        "near": sum(each["near"] for each in some),
        "excused": sum(each["excused"] for each in some),
    }


def rules_of(hauls: Iterable[Row], findings: Iterable[Row]) -> set[str]:
    """Every rule that was tried on some haul."""
    idle = {rule for haul in hauls for rule in haul["does_not_apply"]}
    return idle | {each["rule"] for each in findings}


def rule(hauls: Iterable[Row], findings: Iterable[Row], name: str) -> dict[str, Any]:
    """The counts of one rule."""
    mine = [each for each in findings if each["rule"] == name]
    verdicts = Counter(each["verdict"] for each in mine)
    unmet = [each for each in mine if each["verdict"] == "not met"]
    broken = [each for each in unmet if not each["excused"]]
    broken_by: dict[str, Counter[str]] = {kind: Counter() for kind in KINDS} if broken else {}
    for each in broken:
        for kind, of in names(each):
            broken_by[kind][of] += 1
    idle = sum(name in haul["does_not_apply"] for haul in hauls)
    return {
        "verdicts": {**{each: verdicts[each] for each in VERDICTS}, "does not apply": idle},
        "near": sum(each["near"] for each in mine),
        "excused": len(unmet) - len(broken),
        "broken_by": broken_by,
        "below": sum(each["side"] == "below" for each in broken),
        "above": sum(each["side"] == "above" for each in broken),
        "not_stated": Counter(field for each in mine for field in each["missing"] or ()),
    }


def unread_subjects(hauls: Iterable[Row]) -> dict[str, Counter[str]]:
    """By place, in how many hauls no rulebook held a subject of its law."""
    found: dict[str, Counter[str]] = {}
    for haul in hauls:
        for each in haul["unread_subjects"]:
            place, _, subject = each.partition(": ")
            found.setdefault(place, Counter())[subject] += 1
    return found
