"""The differences between two audits, as text after the later audit and as JSON in it."""

from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import to_builtins

from checker.reports.shared.change_record import change_json
from checker.reports.shared.change_words import TOO_OPEN, change_words, on_hold_lines
from checker.reports.shared.page import Page
from checker.reports.shared.rate_words import tenths_words
from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.words import number_of
from checker.season.comparing import Compared, ComparedHaul, Comparison, Differing, Turn
from checker.season.rates.correcting import MOST_OPEN
from checker.season.record import COMPARED_BY, Count, count_of_hauls
from checker.season.totals import Tally

_MOST = 10
_TURN_COUNTS = {Turn.NEW: "new", Turn.WORSE: "worse", Turn.BETTER: "better", Turn.FIXED: "fixed"}
_MOST_NAMED = 8
_INPUTS = "COMPARED WITH THE EARLIER AUDIT"
_TOTALS = "TOTALS, NOW AND THEN"
_WHOLE = (_INPUTS, _TOTALS)
"""Sections that are always listed in full."""
_RULES = {
    Turn.NEW: "NEW - rules met then and not met now",
    Turn.WORSE: "WORSE - rules not met in a larger share of hauls",
    Turn.NOT_DECIDED_THEN: "NOT MET NOW, NEVER DECIDED THEN - it may have been so all along",
    Turn.BETTER: "BETTER - rules not met in a smaller share of hauls",
    Turn.FIXED: "FIXED - rules not met then and met now",
    Turn.NOT_DECIDED_NOW: "NOT MET THEN, NEVER DECIDED NOW - nothing shows that it is fixed",
}
_TESTED = (Turn.NEW, Turn.WORSE, Turn.BETTER, Turn.FIXED)
_BY_CHANCE = "CHANGED, BUT NO MORE THAN CHANCE EXPLAINS, or too few to say"
_TOO_OPEN_RULES = (
    f"{TOO_OPEN.upper()} - undecided in more than {MOST_OPEN:.0%} of the hauls then or now"
).replace("%", " %")
_HEADINGS = {
    "trailer": "ON HOLD BY TRAILER, NOW AND THEN",
    "machine": "ON HOLD BY MACHINE, NOW AND THEN",
    "tow vehicle": "ON HOLD BY TOW VEHICLE, NOW AND THEN",
    "crew": "ON HOLD BY CREW, NOW AND THEN",
}


def comparison_json(found: Comparison) -> dict[str, Any]:
    """The comparison as plain data, for the member `compared` of an audit document."""
    then = found.then
    return {
        "same_log": found.same_log,
        "on_hold": change_json(found.on_hold),
        "then": {
            "cinchbook": then.version,
            "log": then.log,
            "digest": then.digest,
            "near": then.near,
            "read": then.read,
            "refused": then.refused,
            "left_out": then.left_out,
            "totals": to_builtins(then.totals),
        },
        "rulebooks": to_builtins(found.rulebooks),
        "tables": to_builtins(found.tables),
        "amendments": to_builtins(found.amendments),
        "rules": [
            {
                "rule": each.name,
                "title": found.rule(each.name).title,
                "level": found.rule(each.name).level,
                **_change_json(each),
            }
            for each in found.rules
        ],
        "by": {
            kind: [
                {"name": each.name, **_title(found, kind, each.name), **_change_json(each)}
                for each in compared
            ]
            for kind, compared in ((kind, found.by.get(kind, ())) for kind in COMPARED_BY)
        },
        "not_compared": list(found.not_compared),
        "hauls": to_builtins(found.hauls) if found.hauls else None,
    }


def _title(found: Comparison, kind: str, key: str) -> dict[str, str]:
    return {"title": found.titles[kind].get(key, "")} if kind in found.titles else {}


def _change_json(each: Compared) -> dict[str, Any]:
    return {
        "turn": each.turn,
        "then": to_builtins(each.then),
        "now": to_builtins(each.now),
        "change": change_json(each.change),
    }


def print_comparison(found: Comparison, page: Page) -> None:
    """Print the differences: rules in force, totals, rules, vehicles and crews, single hauls."""
    for heading, lines in sections(found):
        if heading:
            page.heading(heading)
        else:
            page.line()
        for line in lines[:_MOST] if heading not in _WHOLE else lines:
            page.line(line, lead="- " if heading else "")
        if len(lines) > _MOST and heading not in _WHOLE:
            page.line(f"and {len(lines) - _MOST} more", lead="- ")


def sections(found: Comparison) -> Iterator[tuple[str, Sequence[str]]]:
    """Every section of a comparison: a heading (none for a remark) and its lines."""
    yield _INPUTS, list(_inputs(found))
    yield _TOTALS, list(_totals(found))
    for turn, heading in _RULES.items():
        of_turn = [_rule_line(found, each) for each in found.rules if each.shown_turn is turn]
        if of_turn:
            yield heading, of_turn
    same = sum(each.shown_turn is Turn.SAME for each in found.rules)
    if same:
        yield "", [f"{number_of(same, 'rule')} not met in the same share of hauls as then"]
    unexplained = [
        f"{_turn_words(each)}: {_rule_line(found, each)}"
        for each in found.rules
        if each.shown_turn is None and not each.too_open
    ]
    if unexplained:
        yield _BY_CHANCE, unexplained
    if too_open := [_rule_line(found, each) for each in found.rules if each.too_open]:
        yield _TOO_OPEN_RULES, too_open
    if found.nothing_changed:
        yield "", ["Nothing is new, worse, better or fixed."]
    names = SeasonNames(found.titles)
    for kind, heading in _HEADINGS.items():
        changed = [each for each in found.by.get(kind, ()) if each.shown_turn is not Turn.SAME]
        if changed:
            changed.sort(key=lambda each: each.shown_turn is None)
            yield (
                heading,
                [
                    f"{_turn_words(each)}: {names.printed(kind, each.name)}: {_both(each)}"
                    for each in changed
                ],
            )
    yield from _hauls(found)


def in_one_line(found: Comparison) -> str:
    """The shares on hold now and then, what that shows, and how many rules changed."""
    shares = [
        f"{_on_hold_share(each.totals)} {when}{_open_words(each.totals)}"
        for each, when in ((found.now, "now"), (found.then, "then"))
    ]
    beyond = change_words(found.on_hold) if found.on_hold else TOO_OPEN if found.too_open else ""
    on_hold = f"on hold, of decided hauls: {', '.join(shares)}{f' ({beyond})' if beyond else ''}"
    turns = [each.shown_turn for each in found.rules]
    counts = [f"{turns.count(turn)} {words}" for turn, words in _TURN_COUNTS.items()]
    too_open = sum(each.too_open for each in found.rules)
    counts += [f"{too_open} with {TOO_OPEN}"] if too_open else []
    return f"Better or worse: {on_hold}; rules not met: {', '.join(counts)}"


def _on_hold_share(tally: Tally) -> str:
    count = count_of_hauls(tally)
    return tenths_words(count.share) if count.decided else "no decided haul"


def _open_words(tally: Tally) -> str:
    return f" with {tally.open} of {tally.hauls} open" if tally.open else ""


def _turn_words(each: Compared) -> str:
    """The word for a change in text reports; JSON uses the value of the enum."""
    turn = each.shown_turn
    if each.too_open:
        return TOO_OPEN
    if turn is None:
        assert each.change is not None
        return str(each.change.result)
    return "fixed" if turn is Turn.FIXED else str(turn)


def _inputs(found: Comparison) -> Iterator[str]:
    """Lines on logs, rules, options and versions that differ, the possible causes of changes."""
    then, now = found.then, found.now
    if not found.same_log:
        yield f"other hauls: {now.log} ({now.digest}) now, {then.log} ({then.digest}) then"
    elif found.same_inputs:
        yield (
            f"the same log ({now.digest}), rules and program: what differs comes from the load "
            "profiles, or from how the columns are read"
        )
    else:
        yield (
            f"the same log ({now.digest}): what differs comes from what is listed here, from the "
            "load profiles, or from how the columns are read"
        )
    yield from _differing("rulebook", found.rulebooks)
    yield from _differing("table", found.tables)
    yield from _differing("amendment", found.amendments)
    not_asked = sum(bool(each.then.broken) and not each.now.asked for each in found.rules)
    if not_asked:
        yield (
            f"{number_of(not_asked, 'rule')} not met then and never applied now: a haul off hold "
            "for that reason alone fixed nothing"
        )
    if found.not_compared:
        yield (
            f"not compared: {', '.join(f'{kind}s' for kind in found.not_compared)}, which the "
            "earlier audit counts by title; the same log audited again with this version tells "
            "those of one title apart"
        )
    if then.near != now.near:
        near = f"{tenths_words(now.near)} now, {tenths_words(then.near)} then"
        yield f"near a limit means within {near}"
    if then.version != now.version:
        yield f"checked by cinchbook {now.version} now, {then.version} then"


def _differing(thing: str, found: Differing) -> Iterator[str]:
    for words, names in (
        ("only now", found.added),
        ("only then", found.gone),
        ("changed since", found.changed),
    ):
        if names:
            yield f"{number_of(len(names), thing)} {words}: {_named(names)}"


def _totals(found: Comparison) -> Iterator[str]:
    then, now = found.then, found.now
    yield f"hauls checked: {now.totals.hauls}; then {then.totals.hauls}"
    if now.refused or then.refused:
        yield f"rows refused: {now.refused} of {now.read}; then {then.refused} of {then.read}"
    if now.left_out or then.left_out:
        yield f"rows left out: {now.left_out} of {now.read}; then {then.left_out} of {then.read}"
    yield f"on hold, of decided hauls: {_on_hold(now.totals)}; then {_on_hold(then.totals)}"
    for (words, after), (_, before) in zip(_parts(now.totals), _parts(then.totals), strict=True):
        if after or before:
            yield f"{words}: {_of(after, now.totals)}; then {_of(before, then.totals)}"
    yield from on_hold_lines(found)


def _on_hold(tally: Tally) -> str:
    count = count_of_hauls(tally)
    share = f" ({tenths_words(count.share)})" if count.broken else ""
    return f"{count.broken} of {count.decided}{share}"


def _of(hauls: int, tally: Tally) -> str:
    return f"{hauls} ({tenths_words(hauls / tally.hauls)})" if hauls else "0"


def _parts(tally: Tally) -> Iterator[tuple[str, int]]:
    yield "open", tally.open
    yield "with no rule broken", tally.hauls - tally.held - tally.open
    yield "with no rule broken and near a limit", tally.near
    yield "under a variance", tally.excused


def _rule_line(found: Comparison, each: Compared) -> str:
    rule = found.rule(each.name)
    level = "" if rule.level == "must" else " (should)"
    return f"{rule.title}{level} [{each.name}]: {_both(each)}"


def _both(each: Compared) -> str:
    words = f"{_count_words(each.now)}; then {_count_words(each.then)}"
    if each.change is None or each.shown_turn not in _TESTED:
        return words
    return f"{words}; {change_words(each.change)}"


def _count_words(count: Count) -> str:
    """A count in words, always with the number of undecided hauls."""
    if not count.asked:
        return "never applied"
    if not count.decided:
        return f"undecided in all {count.asked}"
    share = f" ({tenths_words(count.share)})" if count.broken else ""
    undecided = f", {count.undecided} more undecided" if count.undecided else ""
    return f"{count.broken} of {count.decided}{share}{undecided}"


def _hauls(found: Comparison) -> Iterator[tuple[str, Sequence[str]]]:
    """Sections on single hauls, if both audits are of the same log."""
    hauls = found.hauls
    if hauls is None:
        return
    for heading, several in (
        ("HAULS PUT ON HOLD", hauls.put_on_hold),
        ("HAULS NO LONGER ON HOLD", hauls.off_hold),
        ("HAULS ON HOLD BY OTHER RULES", hauls.held_otherwise),
    ):
        if several:
            yield heading, [_haul_line(each) for each in several]
    if hauls.not_compared:
        parts = (
            f"{number_of(hauls.not_compared, 'haul')} on hold could not be compared: an audit "
            "lists only the worst hauls and the first refused rows one by one"
        )
        yield "", [parts]


def _haul_line(each: ComparedHaul) -> str:
    crew = f", crew {each.crew}" if each.crew else ""
    turned = "" if each.then == each.now else f": {each.then} -> {each.now}"
    parts = [f"row {each.row}, {each.day}, {each.load}{crew}{turned}"]
    parts += [f"not met now: {_named(each.broken)}"] if each.broken else []
    parts += [f"not met then: {_named(each.no_longer_broken)}"] if each.no_longer_broken else []
    return "; ".join(parts)


def _named(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more
