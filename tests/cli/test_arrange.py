"""`cinchbook arrange`: exit codes, options, bad input, and the load as arranged in its file."""

import json
from pathlib import Path

import pytest
import typer
from jsonschema import Draft202012Validator
from msgspec.structs import replace

from checker.cli.arranged_load import write_load
from checker.documents.resources import shipped_folder
from checker.documents.schemas import schema_of_written
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from tests.arranged import DAY, arranged, bundled_load, bundled_names, hooks_of_today, other_hooks
from tests.calling import call
from tests.shipped import shipped_rules

LOAD = """\
# Ours, by the tape.
kind: load
title: The load
trailer:
  gvwr: {gvwr}
  deck: {{front: 50 in, rear: 210 in, width: 80 in}}
  anchors:
    fl: {{x: 60 in, y: 38 in, z: 0 in, working_load_limit: 3000 lb}}
    fr: {{x: 60 in, y: -38 in, z: 0 in, working_load_limit: 3000 lb}}
    rl: {{x: 200 in, y: 38 in, z: 0 in, working_load_limit: 3000 lb}}
    rr: {{x: 200 in, y: -38 in, z: 0 in, working_load_limit: 3000 lb}}
articles:
  - title: Mower
    type: wheeled machine
    weight: 900 lb
    length: 80 in
    width: 50 in
    placed: {{x: 80 in, y: 0 in, facing: forward}}   # from the ball
    attachments:
      fl: {{x: 5 in, y: 20 in, z: 10 in, part: frame}}
      fr: {{x: 5 in, y: -20 in, z: 10 in, part: frame}}
gear:
  title: Our box
  tiedowns:
    - {{name: straps, device: webbing, marked_working_load_limit: 3333 lb, count: 4, length: 20 ft}}
trip: {{date: 2026-05-14}}
"""
TIED = "tiedowns:\n  - {marked_working_load_limit: 3333 lb, device: webbing, anchor: fl,\n"
TIED += "     attachment: fl, path: direct}  # the good one\n"


@pytest.fixture
def place(tmp_path: Path, rulebook_text: str) -> Path:
    """A folder with one rulebook and a load for each outcome."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "book.yaml").write_text(rulebook_text)
    (tmp_path / "profiles").mkdir()
    for name, gvwr in {"good": "7000 lb", "bad": "7001 lb", "close": "7000 lb ± 10 lb"}.items():
        text = LOAD.format(gvwr=gvwr) + TIED
        (tmp_path / "profiles" / f"{name}.yaml").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(("name", "code"), [("good", 0), ("bad", 1), ("close", 3)])
def test_the_exit_code_is_that_of_a_check_of_the_arrangement(
    place: Path, name: str, code: int
) -> None:
    done = call(place, "arrange", f"profiles/{name}.yaml", "--rules", "rules")
    assert done.returncode == code, done.stderr
    assert "Nothing needs changing" in done.stdout
    assert 'From "Our box" take 1 of the 4 "straps".' in done.stdout
    assert "safe" not in done.stdout


def test_no_arrangement(tmp_path: Path) -> None:
    """By hand: its axle carries more than its rating wherever the machine stands on the deck."""
    words = ("loads/overloaded-axle-below-gvwr", "--as", "json")
    done = call(tmp_path, "arrange", *words)
    assert done.returncode == 1, done.stderr
    document = json.loads(done.stdout)
    assert document["found"] is False
    assert document["why"] == "No arrangement of this gear meets every must-rule."
    assert list(Draft202012Validator(schema_of_written("arrangement")).iter_errors(document)) == []


@pytest.mark.parametrize(
    ("order", "message"),
    [
        ("piece", "found 'piece' in --order; wanted some of: shoulds, pieces, changes, margin"),
        ("piece", "did you mean 'pieces'?"),
        ("pieces,pieces", "found 'pieces' twice in --order"),
        ("", "found '' in --order"),
    ],
)
def test_an_order_that_is_not_understood(place: Path, order: str, message: str) -> None:
    done = call(place, "arrange", "profiles/good.yaml", "--order", order)
    assert done.returncode == 2
    assert message in done.stderr


def test_words_left_out_of_the_order_follow(place: Path) -> None:
    words = ("--rules", "rules", "--order", "margin,changes", "--as", "json")
    done = call(place, "arrange", "profiles/good.yaml", *words)
    assert json.loads(done.stdout)["order"] == ["margin", "changes", "shoulds", "pieces"]


NOTHING_TO_HOOK = "found nothing to hook 'Mower' to; wanted anchors of the trailer and attachments"


@pytest.mark.parametrize(
    ("start", "end", "new", "message"),
    [
        ("  anchors:", "articles:", "", f":8:5: {NOTHING_TO_HOOK}"),
        ("    attachments:", "gear:", "", f":13:5: {NOTHING_TO_HOOK}"),
        ("80 in\n    width", "\n    width", "161 in", ":13:5: found 'Mower' longer than the deck"),
        ("    length", "    width", "", ":13:3: found no articles.1.length; wanted the deck and"),
        ("  deck", "  anchors", "", ":5:3: found no trailer.deck.front, trailer.deck.rear, trai"),
        ("marked", "count", "", ":25:7: found 'straps' without a figure of its label; wanted `ma"),
        ("gear", "trip", "", "found no tiedowns to arrange; wanted gear with tiedowns in it, or a"),
        (
            "trip",
            "\n",
            "variances: [{rule: no-such, from: 2026-01-01, until: 2027-01-01, by: a, because: b, "
            "conditions: c}]",
            "'no-such'",
        ),
        ("articles", "gear", "articles: []\n", "found no article; wanted something on the deck"),
    ],
)
def test_bad_input_has_a_reason_and_a_place_and_nothing_is_written(
    place: Path, start: str, end: str, new: str, message: str
) -> None:
    text = LOAD.format(gvwr="7000 lb")
    at = text.index(start)
    text = text[:at] + new + text[text.index(end, at) :]
    (place / "profiles" / "load.yaml").write_text(text, encoding="utf-8")
    words = ("--rules", "rules", "--write", "html=cab.html", "--write-load", "profiles/new.yaml")
    done = call(place, "arrange", "profiles/load.yaml", *words)
    assert done.returncode == 2, done.stdout
    assert message in done.stderr
    assert not (place / "cab.html").exists()
    assert not (place / "profiles" / "new.yaml").exists()


def test_gear_of_a_file(place: Path) -> None:
    gear = "kind: gear\ntitle: Box 3\ntiedowns:\n  - {name: chains, device: chain, count: 2,\n"
    file = place / "box.yaml"
    file.write_text(gear + "     marked_working_load_limit: 4700 lb}\n")
    words = ("--rules", "rules", "--gear", "box.yaml", "--write-load", "profiles/new.yaml")
    done = call(place, "arrange", "profiles/good.yaml", *words)
    assert done.returncode == 0, done.stderr
    assert "the length of the chain is not stated: see that it reaches" in " ".join(
        done.stdout.split()
    )
    new = (place / "profiles" / "new.yaml").read_text(encoding="utf-8")
    assert "marked_working_load_limit: 4700 lb" in new
    assert "the good one" not in new
    assert new.startswith("# Ours, by the tape.\n")
    assert "# from the ball" in new
    file.write_text(gear + "  }\n")
    done = call(place, "arrange", "profiles/good.yaml", "--gear", "box.yaml")
    assert done.returncode == 2
    assert "box.yaml:4:5: found 'chains' without a figure of its label" in done.stderr


@pytest.mark.parametrize(
    ("target", "message"),
    [
        ("profiles/good.yaml", "found 'profiles/good.yaml' there already; wanted a new file name"),
        ("profiles/new.txt", "wanted one that ends in .yaml"),
        ("nowhere/new.yaml", "found no folder 'nowhere'"),
        ("profiles", "found 'profiles' there already"),
    ],
)
def test_a_load_is_written_to_a_new_file_only(place: Path, target: str, message: str) -> None:
    before = (place / "profiles" / "good.yaml").read_bytes()
    words = ("--rules", "rules", "--write-load", target)
    done = call(place, "arrange", "profiles/good.yaml", *words)
    assert done.returncode == 2
    assert message in done.stderr
    assert done.stdout == ""
    assert (place / "profiles" / "good.yaml").read_bytes() == before


def test_a_load_with_references_is_written_where_they_start(tmp_path: Path) -> None:
    done = call(tmp_path, "arrange", "loads/mower-in-order", "--write-load", "new.yaml")
    assert done.returncode == 2
    assert "the folder that its references start from: `profiles:`" in done.stderr
    assert not (tmp_path / "new.yaml").exists()


def test_the_reports_of_an_arrangement(place: Path) -> None:
    words = ("--rules", "rules", "--write", "html=a.html,json=a.json")
    assert call(place, "arrange", "profiles/good.yaml", *words).returncode == 0
    document = json.loads((place / "a.json").read_text())
    assert list(Draft202012Validator(schema_of_written("arrangement")).iter_errors(document)) == []
    assert document["articles"][0]["x"] == pytest.approx(80 * 0.0254)  # as the load states it
    assert [each["kept"] for each in document["tiedowns"]] == [True]
    page = (place / "a.html").read_text()
    assert "Arranged so: NO RULE BROKEN" in page
    assert "Nothing needs changing" in page
    for step in document["steps"]:
        assert step["text"].split('"')[0] in page


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("name", bundled_names())
def test_a_check_of_the_written_load_agrees_to_the_last_verdict(
    tmp_path: Path, name: str, *, turned: bool
) -> None:
    profile, rulebooks = bundled_load(name), shipped_rules()
    hooks = other_hooks if turned else hooks_of_today
    plan = arranged(
        profile, rulebooks, further_back=0.0762, further_left=0.0254, turned=turned, hooks=hooks
    )
    root, target = shipped_folder("profiles"), tmp_path / "new.yaml"
    write_load(plan, target, rulebooks, DAY, root=root, gear_in_full=False)
    check = check_profile(read_profile(target, root), rulebooks, DAY)
    verdicts = [(each.rule.id, each.verdict, each.margin) for each in check.findings]
    wanted = [(each.rule.id, each.verdict, each.margin) for each in plan.check.findings]
    assert verdicts == wanted
    before = profile.file.read_text(encoding="utf-8").splitlines()
    after = target.read_text(encoding="utf-8").splitlines()
    for line in before:
        if line.lstrip().startswith("#"):
            assert line in after
    assert len(set(before) - set(after)) <= 2 * len(plan.choices.hooked) + len(
        plan.choices.load.articles
    )


def test_nothing_is_written_where_the_check_would_not_agree(tmp_path: Path) -> None:
    profile, rulebooks = bundled_load("mower-in-order"), shipped_rules()
    plan = arranged(profile, rulebooks, further_back=0.0762)
    other = arranged(profile, rulebooks, further_back=1.5)
    root, target = shipped_folder("profiles"), tmp_path / "new.yaml"
    with pytest.raises(typer.Exit):
        write_load(
            replace(plan, check=other.check),
            target,
            rulebooks,
            DAY,
            root=root,
            gear_in_full=False,
        )
    assert not target.exists()


def test_tolerances_and_missing_gear_are_tried_on_request(place: Path) -> None:
    words = ("arrange", "profiles/good.yaml", "--rules", "rules")
    plain = call(place, *words).stdout
    assert "HOW FAR IT MAY BE OFF" not in plain
    assert "WITHOUT SOME OF THE GEAR" not in plain
    asked = call(place, *words, "--tolerance", "position=1in", "--what-if")
    assert asked.returncode == 0, asked.stderr
    assert "HOW FAR IT MAY BE OFF" in asked.stdout
    assert "WITHOUT SOME OF THE GEAR" in asked.stdout


def test_a_tolerance_that_is_none_is_refused(place: Path) -> None:
    done = call(place, "arrange", "profiles/good.yaml", "--rules", "rules", "--tolerance", "size=3")
    assert done.returncode == 2
    assert "found 'size=3'; wanted position=LENGTH or weight=SHARE" in done.stderr
