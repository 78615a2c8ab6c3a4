"""`--write-load`: an arrangement as a load file, checked before it is written."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from checker.cli.new_load import write_agreeing
from checker.cli.options import end_with

if TYPE_CHECKING:
    from datetime import date

    from checker.advice.arrange.arrangement import Arrangement
    from checker.advice.arrange.choices import GearKind
    from checker.evaluation.check import Check
    from checker.rulebooks.model import Rulebooks
    from checker.upkeep.restated import Values


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
    from checker.load.build import shown_path
    from checker.upkeep.rearranged import rearranged

    before = found.choices.profile
    original = before.file.read_bytes().decode()
    if decode_text(original.encode()) != before.rests_on[before.file.resolve()]:
        end_with(f"found '{before.file}' changed during the run; nothing was written")

    def text() -> str:
        return rearranged(
            original,
            shown_path(before.file),
            _articles(found),
            _tiedowns(found, original, gear_in_full=gear_in_full),
        )

    def agrees(check: "Check") -> bool:
        return _verdicts(check) == _verdicts(found.check)

    write_agreeing(text, target, root, rulebooks, on, agrees=agrees, what="this arrangement")


def _verdicts(check: "Check") -> list[tuple[str, str]]:
    return [(each.rule.id, each.verdict) for each in check.findings]


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
