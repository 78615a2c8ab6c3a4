"""Every command speaks JSON: the examples of its help fit the schema of what they print.

Commands and examples are those that the program itself has.
"""

import json
import re
import shlex
import shutil
from importlib import import_module
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest
import typer

from checker import __version__
from checker.cli.app import COMMANDS, application
from checker.documents.resources import shipped_folder
from checker.documents.schemas import schema_id, written_kinds
from checker.reports.shared.written_schemas import WRITTEN, document_modules, text_of_schema
from tests.calling import call
from tests.cli.conftest import RULEBOOK_TEXT
from tests.docs.sample_repository import AMENDMENT, commit, git
from tests.written_documents import closed_schema

WRITE_FILES = {"draft", "amend", "invent"}
PRINT_JSON_ANYWAY = {"schema"}
LOADS = ("side-by-side-in-order", "too-far-forward")


def takes_json(command: str) -> bool:
    """True if the command has the option `--as` with the form json."""
    group: Any = typer.main.get_command(application([command]))
    options = {option: each for each in group.commands[command].params for option in each.opts}
    return "--as" in options and "json" in options["--as"].type.choices


def examples(command: str) -> list[list[str]]:
    """The words after `cinchbook` of each example in the help of a command."""
    text = import_module(f"checker.cli.{command}").run.__doc__
    found = re.findall(r"Example: cinchbook (.*?)(?:\n\n|$)", text, re.DOTALL)
    return [shlex.split(" ".join(each.split())) for each in found]


SPEAKING = [command for command in COMMANDS if takes_json(command)]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A repository in which every example works."""
    folder = tmp_path_factory.mktemp("desk")
    shutil.copytree(shipped_folder("profiles"), folder / "profiles")
    for file in (folder / "profiles" / "loads").iterdir():
        if file.stem not in LOADS:
            file.unlink()
    (folder / "cinchbook.yaml").write_text(
        "kind: settings\namendments: [amendments]\nprofiles: profiles\n"
    )
    (folder / "amendments").mkdir()
    (folder / "amendments" / "company.yaml").write_text(AMENDMENT)
    (folder / "crew-rules").mkdir()
    (folder / "crew-rules" / "book.yaml").write_text(RULEBOOK_TEXT)
    rows = [f"loads/{name},2026-05-14" for name in LOADS]
    (folder / "hauls.csv").write_text("\n".join(["load,date", *rows, ""]))
    git(folder, "init", "-q", "-b", "main")
    git(folder, "config", "user.email", "crew@example.org")
    git(folder, "config", "user.name", "Crew")
    commit(folder)
    (folder / "spring.json").write_text(call(folder, "audit", "hauls.csv", "--as", "json").stdout)
    return folder


def test_only_commands_that_write_files_have_no_json() -> None:
    assert set(COMMANDS) - set(SPEAKING) == WRITE_FILES | PRINT_JSON_ANYWAY


@pytest.mark.parametrize("command", SPEAKING)
def test_the_examples_of_a_command_fit_the_schema_of_what_they_print(
    command: str, desk: Path
) -> None:
    printed = [call(desk, *words, "--as", "json") for words in examples(command)]
    # An audit that refuses a row ends with 2, and one that notes something prints no document.
    assert all(done.returncode != 2 or done.stdout for done in printed), printed
    documents = [done.stdout for done in printed if done.stdout.startswith("{")]
    assert documents
    for text in documents:
        document = json.loads(text)
        kind = document["kind"]
        assert [*document][:3] == ["kind", "schema", "cinchbook"]
        assert (document["schema"], document["cinchbook"]) == (schema_id(kind), __version__)
        jsonschema_rs.Draft202012Validator(closed_schema(kind)).validate(document)
        # The same bytes on every machine: no path from the root of this disk.
        for root in (desk, shipped_folder("rules").parent):
            assert str(root) not in text


def test_schemas_of_records_are_up_to_date() -> None:
    """`python -m checker.reports.shared.written_schemas` writes them."""
    for module in document_modules():
        assert module.KIND in written_kinds()
        assert (WRITTEN / f"{module.KIND}.json").read_text("utf-8") == text_of_schema(module)
