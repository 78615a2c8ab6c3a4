"""What a crew is told for each kind of fault that a schema can see.

The expected words are written here by hand: they are the contract with the reader of a message.
"""

import time

import pytest

from checker.documents.problems import ProblemsFoundError, count_problems
from checker.documents.reader import read_bytes
from checker.documents.validate import validate

LOAD_WANTED = "a weight or rating such as '2150 lb' (in lb, kg, t, kN, daN, lbf or N)"
LENGTH_WANTED = "a length such as '62.5 in' (in ft, in, m, mm, cm, yd, mi or km)"
SMALL_NAME = "a name in small letters, digits, spaces, hyphens and underscores"
SOURCE = "either `source:` and `at:`, or `common_practice: yes`, not both"
MAPPING = "a mapping of `key: value` lines"
IN_QUOTES = "text, with quotes around a number, true or false"
KINDS = (
    "`kind: ...`, one of: load, trailer, tow-vehicle, machine, tiedown, carrier, gear, "
    "rulebook, sources, ratings, coverage, amendment, law-table, law-shapes, variances, settings, "
    "haul, haul-log"
)


def told(text: str, wanted_kind: str | None = None) -> list[str]:
    document = read_bytes(text.encode(), "x.yaml")
    assert document.problems == []
    problems = validate(document, wanted_kind=wanted_kind)
    # The error sorts and drops repeats; here nothing must be left for it to do.
    assert ProblemsFoundError(problems).problems == problems
    return [str(problem).removeprefix("x.yaml:") for problem in problems]


CODE = (
    "wanted a country such as US, a state or province such as US-UT, or a county behind one, by "
    "their ISO 3166 codes"
)


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("brakes: electric", None),
        ("coupler: {raiting: 5000 lb}", "2:11: found the key 'raiting'; "
         "wanted one of: size, rating, tongue_rating, class_number; did you mean 'rating'?"),
        ("deck: {2: 1}", "2:8: found the key '2'; wanted one of: front, rear, width, height"),
        ("deck: {'': 1}", "2:8: found the key ''; wanted one of: front, rear, width, height"),
        ("brakes: eletric", "2:9: found 'eletric'; wanted one of: none, electric, surge, "
         "hydraulic, air; did you mean 'electric'?"),
        ("brakes:", "2:1: found nothing after the colon; wanted one of: none, electric, surge, "
         "hydraulic, air"),
        ("brakes: []", "2:9: found an empty list; "
         "wanted one word without brackets and `- `: none, electric, surge, hydraulic, air"),
        ("full_trailer: true", "2:15: found true; wanted one of: yes, no; did you mean 'yes'?"),
        ("full_trailer: false", "2:15: found false; wanted one of: yes, no; did you mean 'no'?"),
        ("full_trailer: Yes", "2:15: found 'Yes'; wanted one of: yes, no; did you mean 'yes'?"),
        ("full_trailer: off", "2:15: found 'off'; wanted one of: yes, no; did you mean 'no'?"),
        ("full_trailer: 1", "2:15: found the bare number 1; wanted one of: yes, no; "
         "did you mean 'yes'?"),
        ("full_trailer: maybe", "2:15: found 'maybe'; wanted one of: yes, no"),
        ("gvwr: 7000", f"2:7: found the bare number 7000; wanted {LOAD_WANTED}; "
         "did you mean '7000 lb'?"),
        ("gvwr: 7000 xyz", f"2:7: found '7000 xyz'; wanted {LOAD_WANTED}"),
        ("gvwr: 7000 in", f"2:7: found '7000 in'; wanted {LOAD_WANTED}, not a length"),
        ("gvwr: 0 lb", "2:7: found '0 lb'; wanted more than zero"),
        ("gvwr: 0.1 lb", None),
        ("gvwr: 50 lb +/- 50 lb", "2:7: found '50 lb +/- 50 lb'; wanted more than zero"),
        ("gvwr: 50 lb +/- 49 lb", None),
        ("empty_tongue_weight: 0 lb", None),
        ("empty_tongue_weight: -1 lb", "2:22: found '-1 lb'; wanted zero or more"),
        ("gvwr:", "2:1: found nothing after the colon; wanted a value, or leave the line out"),
        ("gvwr: true", "2:7: found true; wanted text"),
        ("gvwr: [7000 lb]", "2:7: found a list with '7000 lb'; "
         "wanted one value without brackets and `- `; did you mean '7000 lb'?"),
        ("deck: 16 ft", f"2:7: found '16 ft'; wanted {MAPPING}"),
        ("deck: {front: 16}", f"2:15: found the bare number 16; wanted {LENGTH_WANTED}; "
         "did you mean '16 in'?"),
        ("axles: {front: {tyres: 2}}", None),
        ("axles: {front: {tyres: 2.0}}", None),
        ("axles: {front: {tyres: 2.5}}", "2:24: found the bare number 2.5; "
         "wanted a whole number, 0 or more, such as '4'"),
        ("axles: {front: {tyres: two}}", "2:24: found 'two'; wanted a whole number"),
        ("axles: {front: {tyres: -1}}", "2:24: found the bare number -1; "
         "wanted tyres on this axle, at least 1"),
        ("axles: {front: {tyres: 0}}", "2:24: found the bare number 0; "
         "wanted tyres on this axle, at least 1"),
        ("axles: {front: {tyres: 1}}", None),
        ("axles: {front: {tyres: 1001}}", "2:24: found the bare number 1001; "
         "wanted tyres on this axle, at most 1000"),
        ("axles: {Front: {}}", f"2:9: found the name 'Front'; wanted {SMALL_NAME}"),
        ("anchors: {'': {}}", f"2:11: found the name ''; wanted {SMALL_NAME}"),
        ('anchors: {"left\\n": {}}', f"2:11: found the name 'left\\n'; wanted {SMALL_NAME}"),
        ("anchors: {left rear-2_b: {}}", None),
        ("title: ''", "2:8: found ''; wanted what people call it, some text"),
        (f"title: {'x' * 300}", None),
        (f"title: {'x' * 301}", f"2:8: found '{'x' * 60}…'; "
         "wanted what people call it, at most 300 characters"),
        ("title: 5", f"2:8: found the bare number 5; wanted {IN_QUOTES}; did you mean '5'?"),
        ("from: ../../etc/hosts", "2:7: found '../../etc/hosts'; wanted a file under the profile "
         "root, without .yaml, such as trailers/flat-tandem-16"),
        ("from: /etc/hosts", "2:7: found '/etc/hosts'; wanted a file under the profile "
         "root, without .yaml, such as trailers/flat-tandem-16"),
    ],
)  # fmt: skip
def test_trailer(line: str, problem: str | None) -> None:
    assert told(f"kind: trailer\n{line}\n") == ([problem] if problem else [])


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("trailer: trailers/flat-tandem-16", None),
        ("trailer: {}", None),
        ("trailer: 3", f"2:10: found the bare number 3; "
         f"wanted {IN_QUOTES}, or {MAPPING}; did you mean '3'?"),
        ("trailer: [a]", f"2:10: found a list with 'a'; "
         f"wanted one value without brackets and `- ` or {MAPPING}; did you mean 'a'?"),
        ("trailer:", "2:1: found nothing after the colon; wanted a value, or leave the line out"),
        ("articles: [null]", "2:12: found an empty entry; wanted a value, or leave the line out"),
        ("articles: []", None),
        ("articles: [" + "{}, " * 40 + "]", None),
        ("articles: [" + "{}, " * 41 + "]", "2:11: found a list of 41; "
         "wanted everything on the deck; empty where nothing is, at most 40 entries"),
        ("articles: {mower: {}}", "2:11: found a mapping; wanted a list: "
         "`- ` before the first field of each entry, the others indented below it"),
        ("articles: [{name: Big One}]", "2:19: found 'Big One'; wanted short name for tiedowns "
         "to use, in small letters, digits, spaces and hyphens; "
         "the title serves where it is left out"),
        ("tiedowns: []", None),
        ("tiedowns: [{grade: 43}]", "2:20: found the bare number 43; "
         "wanted one of: none, 30, 43, 70, 80, 100, with quotes around a number; "
         "did you mean '43'?"),
        ("tiedowns: [{grade: 44}]", "2:20: found the bare number 44; "
         "wanted one of: none, 30, 43, 70, 80, 100"),
        ("tiedowns: [{pulls: [left, down, left]}]", "2:20: found a list; wanted ways it pulls the "
         "article, stated by eye where positions are not measured, each entry once"),
        ("tiedowns: [{pulls: []}]", "2:20: found an empty list; wanted ways it pulls the "
         "article, stated by eye where positions are not measured, at least 1 entry"),
        ("trip: {date: 2026-02-29}", "2:14: found '2026-02-29'; wanted a day such as 2026-05-14"),
        ("trip: {date: 2024-02-29}", None),
        ("trip: {date: 2026-W20-4}", "2:14: found '2026-W20-4'; wanted a day such as 2026-05-14"),
        ("trip: {date: 20260514}", "2:14: found the bare number 20260514; "
         "wanted a day such as 2026-05-14"),
        ("trip: {date: '2026-05-14 '}", "2:14: found '2026-05-14 '; "
         "wanted a day such as 2026-05-14"),
        ("trip: {places: [US-UT, MX]}", None),
        ("trip: {places: [us-ut]}", f"2:17: found 'us-ut'; {CODE}; did you mean 'US-UT'?"),
        ('trip: {places: ["US-UT\\n"]}',
         f"2:17: found 'US-UT\\n'; {CODE}; did you mean 'US-UT'?"),
        ("trip: {places: [UK]}", f"2:17: found 'UK'; {CODE}; did you mean 'GB'?"),
        ("trip: {places: [CH, US-UT-BASIN, EU]}", None),
        ("trip: {places: [any]}", f"2:17: found 'any'; {CODE}"),
        ("trip: {places: []}", "2:16: found an empty list; wanted every jurisdiction the trip "
         "touches, in the order of travel, again where it comes back: country, state and, where it "
         "matters, county, at least 1 entry, such as "
         '["US-UT"]'),
        ("trip: {load_checks: []}", None),
    ],
)  # fmt: skip
def test_load(line: str, problem: str | None) -> None:
    assert told(f"kind: load\n{line}\n") == ([problem] if problem else [])


@pytest.mark.parametrize(
    ("text", "wanted_kind", "problem"),
    [
        ("- 1\n", None, "1:1: found a list; wanted a document that starts with `kind: ...`"),
        ("3\n", None, "1:1: found the bare number 3; wanted a document that starts with "
         "`kind: ...`"),
        ("title: x\n", None, f"1:1: found no 'kind'; wanted {KINDS}"),
        ("kind:\n", None, f"1:1: found no 'kind'; wanted {KINDS}"),
        ("title: x\nkind: [load]\n", None, f"2:7: found a list as the kind; wanted {KINDS}"),
        ("kind: Trailer\n", None, f"1:7: found 'Trailer' as the kind; wanted {KINDS}; "
         "did you mean 'trailer'?"),
        ("kind: machine\n", "trailer", "1:7: found 'machine' as the kind; "
         "wanted `kind: trailer`"),
        ("kind: machine\n", "machine", None),
    ],
)  # fmt: skip
def test_kind(text: str, wanted_kind: str | None, problem: str | None) -> None:
    assert told(text, wanted_kind) == ([problem] if problem else [])


RULE = """\
kind: rulebook
id: securement
title: Securement
jurisdiction: US
proved_on: 2026-05-14
rules:
  - id: half
    title: Half the weight
    question: tiedowns
    requires: a >= half
    basis: law
    level: must
    because: It may slide.
    fix: Add a tiedown.
    source: cfr-49-393
    at: 393.106(d)
    proofs: [{name: half, given: {a: 1}, expect: met, origin: by hand}]
    thresholds:
      half: {stricter: higher, values: [{value: 50 %, from: 2004-01-01, source: a, at: b}]}
"""
DATED = "source: a, at: b}"


@pytest.mark.parametrize(
    ("old", "new", "problems"),
    [
        (DATED, DATED, []),
        (DATED, "common_practice: yes}", []),
        (DATED, "x: y}", [
            f"19:41: found no 'source' and no 'at' here; wanted {SOURCE}",
            "19:73: found the key 'x'; wanted one of: value, metric_print, from, until, source, "
            "at, common_practice, note",
        ]),
        (DATED, "source: a}", [f"19:41: found no 'at' here; wanted {SOURCE}"]),
        (DATED, "at: b}", [f"19:41: found no 'source' here; wanted {SOURCE}"]),
        (DATED, "source: a, at: b, common_practice: yes}", [
            f"19:91: found `common_practice: yes` beside a source; wanted {SOURCE}"
        ]),
        (DATED, "at: b, common_practice: yes}", [
            f"19:80: found `common_practice: yes` beside a source; wanted {SOURCE}"
        ]),
        (DATED, "common_practice: no}", ["19:90: found 'no'; wanted 'yes'"]),
        ("    source: cfr-49-393\n    at: 393.106(d)\n", "    common_practice: yes\n", [
            "11:12: found 'law'; wanted common practice"
        ]),
        ("basis: law", "basis: common practice", [
            "11:12: found 'common practice'; "
            "wanted one of: law, standard, guidance, maker's instruction"
        ]),
        ("    fix: Add a tiedown.\n", "", ["7:5: found no 'fix' here; wanted a line `fix: ...`"]),
        ("50 %", "{}", ["19:49: found a mapping; wanted text or a plain number"]),
        ("id: half", "id: Half the weight", [
            "7:9: found 'Half the weight'; "
            "wanted words in small letters and digits, joined by hyphens"
        ]),
        ("      half:", "      Half:", [
            "19:7: found the name 'Half'; wanted a name in small letters, digits and underscores"
        ]),
        ("stricter: higher, ", "", [
            "19:13: found no 'stricter' in 'half'; wanted a line `stricter: ...`"
        ]),
        ("jurisdiction: US\n", "jurisdiction: Utah\n", [
            f"4:15: found 'Utah'; {CODE.replace('wanted', 'wanted `any`,')}, or a region: "
            "North America; did you mean 'US-UT' (Utah)?"
        ]),
        ("    thresholds:", "    shows: {a: b, c: d, e: f, g: h, i: j}\n    thresholds:", [
            "18:12: found a mapping; wanted extra figures for the report, by label, "
            "at most 4 entries"
        ]),
        ("expect: met", "expect: passed", [
            "17:50: found 'passed'; wanted one of: met, not met, not stated, does not apply"
        ]),
    ],
)  # fmt: skip
def test_rulebook(old: str, new: str, problems: list[str]) -> None:
    assert RULE.count(old) == 1
    assert told(RULE.replace(old, new)) == problems


def test_a_document_that_could_not_be_read_is_not_judged_again() -> None:
    document = read_bytes(b"kind: [", "x.yaml")
    assert len(document.problems) == 1
    assert validate(document) == []


def test_a_long_list_of_unlike_things_is_not_compared_pair_by_pair() -> None:
    # jsonschema's own `uniqueItems` takes minutes for this list.
    entries = ", ".join(f"left, {index}, [{index}]" for index in range(8_000))
    document = read_bytes(f"kind: tiedown\npulls: [{entries}]\n".encode(), "x.yaml")
    start = time.process_time()
    assert count_problems(validate(document)) == 10_000  # so many are looked for
    assert time.process_time() - start < 20


@pytest.mark.parametrize(
    ("text", "problems"),
    [
        ("tow_vehicle: {front_restoration: none}", []),
        ("articles: [{attachments: {hook: {working_load_limit: no rating exists}}}]", []),
        (
            "tow_vehicle: {front_restoration: nne}",
            [
                "2:34: found 'nne'; wanted a share such as '12 %' (in %), or 'none'; "
                "did you mean 'none'?"
            ],
        ),
        ("tow_vehicle: {gvwr: none}", [f"2:21: found 'none'; wanted {LOAD_WANTED}"]),
        (
            "articles: [{weight: no rating exists}]",
            [f"2:21: found 'no rating exists'; wanted {LOAD_WANTED}"],
        ),
    ],
)
def test_only_some_quantities_have_a_word_for_none(text: str, problems: list[str]) -> None:
    assert told(f"kind: load\n{text}\n") == problems


HOSTILE = {
    "keys": "kind: load\ntrailer:\n" + "".join(f"  gvwrr{n}: 7000 lb\n" for n in range(20_000)),
    "entries": "kind: load\narticles:\n" + "- {weigth: 7, hite: 3 ft}\n" * 10_500,
    "units": "kind: load\narticles:\n"
    + "".join(f"- {{weight: {n} lz{n}, height: 3 fft{n}}}\n" for n in range(10_500)),
    "words": "kind: load\ntiedowns:\n" + "".join(f"- {{path: direkt{n}}}\n" for n in range(10_500)),
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_a_file_that_is_wrong_throughout_is_told_in_seconds(text: str) -> None:
    document = read_bytes(text.encode(), "x.yaml")
    start = time.process_time()
    found = validate(document)
    # A fifth of that on a machine with nothing else to do.
    assert time.process_time() - start < 8
    assert len(found) == 201
    assert found[-1].words.endswith(
        " more problems from here on; wanted the problems above fixed first"
    )
    assert count_problems(found) >= 10_000


@pytest.mark.parametrize(
    ("section", "key", "meant"),
    [
        ("trailer", "atm", "gvwr"),  # not `gtm`, which leaves the coupling load out
        ("trailer", "MAM", "gvwr"),
        ("tow_vehicle", "train_weight", "gcwr"),
        ("tow_vehicle", "kerb_weight", "unladen_weight"),
        ("trailer", "model_year", "built"),
        ("trailer", "made_since_july_1988", "built"),
        ("tow_vehicle", "towing_capacity", "largest_trailer_weight"),
    ],
)
def test_a_field_by_the_word_of_another_place_or_version_names_it(
    section: str, key: str, meant: str
) -> None:
    (problem,) = told(f"kind: load\n{section}:\n  {key}: 2700 kg\n")
    assert problem.endswith(f"; did you mean '{meant}'?")
