"""`--write-load`: an arrangement as a load file, checked before it is written."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from checker.cli.options import end_with, end_with_problems, say

if TYPE_CHECKING:
    from datetime import date

    from checker.advice.arrange.arrangement import Arrangement
    from checker.advice.arrange.choices import GearKind
    from checker.load.build import Profile
    from checker.rulebooks.model import Rulebooks
    from checker.upkeep.restated import Values


def ensure_new_load(target: Path, load: "Profile", root: Path | None) -> None:
    """End the run if no new load can be written there: before the search, which takes its time."""
    from checker.documents.files import NotWrittenError
    from checker.documents.resources import shipped_folder
    from checker.load.build import profile_root, shown_path
    from checker.upkeep.drafting.writing import ensure_writable

    if target.exists():
        end_with(f"found '{target}' there already; wanted a new file name for the load")
    try:
        ensure_writable(target, "load", replacing=False)
    except NotWrittenError as error:
        end_with(str(error))
    folder = profile_root(load.file)
    if root is None and profile_root(target.absolute()) != folder and len(load.rests_on) > 1:
        # No load of the user's own belongs among the bundled ones.
        is_bundled = folder == shipped_folder("profiles").resolve()
        below = f"a file below {shown_path(folder)}, where its references start, or "
        end_with(
            f"found '{target}' to write the load to; wanted {'' if is_bundled else below}"
            "the folder that its references start from: `profiles:` in cinchbook.yaml, or "
            "--profiles"
        )


def write_load(
    found: "Arrangement",
    target: Path,
    rulebooks: "Rulebooks",
    on: "date",
    *,
    root: Path | None,
    gear_in_full: bool,
) -> None:
    """Write the load as arranged, comments kept, once its check agrees with the arrangement's.

    With `gear_in_full` new tiedowns state their labels themselves and name no tiedown file.
    """
    from checker.documents.document import decode_text
    from checker.documents.files import NotWrittenError
    from checker.documents.problems import ProblemsFoundError
    from checker.documents.reader import read_bytes
    from checker.evaluation.tolerances import check_profile
    from checker.load.build import profile_of, shown_path
    from checker.upkeep.drafting.writing import write_checked
    from checker.upkeep.rearranged import rearranged
    from checker.upkeep.yaml_positions import CannotInsertError

    before = found.choices.profile
    original = before.file.read_bytes().decode()
    if decode_text(original.encode()) != before.rests_on[before.file.resolve()]:
        end_with(f"found '{before.file}' changed during the run; nothing was written")
    try:
        text = rearranged(
            original,
            shown_path(before.file),
            _articles(found),
            _tiedowns(found, original, gear_in_full=gear_in_full),
        )
        written = profile_of(read_bytes(text.encode(), shown_path(target)), target, root)
        verdicts = [
            [(each.rule.id, each.verdict) for each in check.findings]
            for check in (check_profile(written, rulebooks, on), found.check)
        ]
        if verdicts[0] != verdicts[1]:
            end_with(
                f"found no way to write this arrangement into '{target}' so that a check of it "
                "agrees; nothing was written"
            )
        write_checked(text, "load", target, replacing=False)
    except (CannotInsertError, NotWrittenError) as error:
        end_with(str(error))
    except ProblemsFoundError as problems:
        end_with_problems(problems)
    say(f"wrote {target}")


def _articles(found: "Arrangement") -> "dict[int, Values]":
    """What the plan states otherwise of each article: its place, and what depends on that."""
    before: Any = found.choices.profile.merged.data["articles"]
    after: Any = found.profile.merged.data["articles"]
    changed: dict[int, Values] = {}
    for index, (old, new) in enumerate(zip(before, after, strict=True)):
        values: dict[str, Values] = {}
        for key, value in new.items():
            if not isinstance(value, dict):
                if old.get(key) != value:
                    values[key] = value
                continue
            stated = old.get(key, {})
            inside = {name: text for name, text in value.items() if stated.get(name) != text}
            if inside:
                values[key] = inside
        if values:
            changed[index] = values
    return changed


def _tiedowns(
    found: "Arrangement", original: str, *, gear_in_full: bool
) -> list[int | Mapping[str, Any]] | None:
    """The tiedowns that stay, by index, and the data of new ones; None where all stay."""
    from checker.advice.arrange.choices import HOW_IT_RUNS

    today = found.choices.profile.merged.data.get("tiedowns", [])
    assert isinstance(today, list)
    if found.kept == tuple(range(len(today))):
        return None
    own = _own_labels(found, original)
    entries: Any = found.profile.merged.data["tiedowns"]
    result: list[int | Mapping[str, Any]] = []
    for same, entry, (_, kind) in zip(found.kept, entries, found.tiedowns, strict=True):
        if same is not None:
            result.append(same)
            continue
        label = kind.label if gear_in_full else own.get(id(kind), kind.written)
        course = {key: entry[key] for key in HOW_IT_RUNS if key in entry}
        left_out = (*HOW_IT_RUNS, "from") if gear_in_full else HOW_IT_RUNS
        stated = {key: value for key, value in label.items() if key not in left_out}
        result.append(stated | course)
    return result


def _own_labels(found: "Arrangement", original: str) -> dict[int, Mapping[str, Any]]:
    """What the load's own file states of each kind of gear that comes from its tiedowns."""
    from checker.advice.arrange.choices import NOT_OF_THE_LABEL
    from checker.documents.reader import read_bytes

    data: Any = read_bytes(original.encode(), "").data
    labels: dict[int, Mapping[str, Any]] = {}
    kinds: list[GearKind] = [kind for kind in found.choices.kinds if kind.written == kind.label]
    for kind in kinds:
        index = found.choices.kinds.index(kind)
        for hook, raw in zip(found.choices.hooked, data.get("tiedowns", ()), strict=True):
            if hook and hook.kind == index:
                entry = {"from": raw} if isinstance(raw, str) else raw
                labels[id(kind)] = {
                    key: value for key, value in entry.items() if key not in NOT_OF_THE_LABEL
                }
                break
    return labels
