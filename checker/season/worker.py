"""Where hauls are judged: one process, or one of many, with the rules read once in each."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path

from checker.documents.problems import DataPath, Mark, Problem, ProblemsFoundError
from checker.evaluation.against_rules import profile_faults
from checker.load.build import Library, Profile, read_profile, shown_path
from checker.rulebooks.model import Rulebooks
from checker.season.chunk_result import evaluate_chunk
from checker.season.counting import count
from checker.season.findings import FORMS, JsonLines, Parquet
from checker.season.grouping import Grouping
from checker.season.logs.model import Refused
from checker.season.reading import RowSlice, unpacked
from checker.season.recent import Recent
from checker.season.same_shape import LoadSummary, of_one_shape, summary_of
from checker.season.totals import Cutoffs, Totals

_MOST_KNOWN = 1024
"""Loads kept: they are asked for twice, first to find those of the same shape."""
_MOST_READY = 3
"""Load profiles kept, and those made ready for their hauls: the next task may be of the same."""
_ROWS_AT_ONCE = 6_144
"""So many hauls are judged at once, or fewer with all corners of their tolerances."""


_ALL = Cutoffs()


class OtherRulesError(RuntimeError):
    """Another machine reads other rules than the one that asks; what they say does not add up."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How hauls are to be judged, small enough to send to another process.

    `read` reads the rulebooks named by `rules`, `found` finds the file of a load as the log names
    it or raises FileNotFoundError; both are functions of a module, as pickle wants.
    """

    read: Callable[[tuple[str, ...]], Rulebooks]
    rules: tuple[str, ...]
    found: Callable[[str], Path]
    root: Path | None
    near: float
    findings: str | None = None
    """The form in which all findings are asked for too, by the suffix of its file."""
    run: str = ""
    """Tells runs apart: a worker that was of an earlier one reads rules and loads anew."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What some hauls come to, and all their findings if they were asked for."""

    totals: Totals
    findings: bytes | None


@dataclass(frozen=True, slots=True)
class HaulsOf:
    """Hauls of one load, in pieces as the parts of the log gave them."""

    load: str
    pieces: Sequence[RowSlice]

    @property
    def hauls(self) -> int:
        """How many there are."""
        return sum(len(records) for records, _ in self.pieces)


class Worker:
    """The rulebooks, and the load profiles read last."""

    def __init__(self, plan: Plan) -> None:
        """Read the rulebooks."""
        self.plan = plan
        self.rulebooks = plan.read(plan.rules)
        self.rules_digest = digest_of_rules(self.rulebooks)
        self.library = Library()
        self.profile = lru_cache(_MOST_READY)(self._profile)
        self.loads: Recent[str, LoadSummary | str] = Recent(_MOST_KNOWN)
        self._paths: dict[str, Sequence[DataPath]] = {}
        self.grouping = lru_cache(_MOST_READY)(self._grouping)

    def load(self, name: str) -> LoadSummary | str:
        """A load that its hauls can be held against, or why it cannot be."""
        return self.loads.get(name, lambda: self._load(name))

    def _load(self, name: str) -> LoadSummary | str:
        try:
            profile = self.profile(name)
        except (FileNotFoundError, ProblemsFoundError) as error:
            return str(error).splitlines()[0]
        return self._sharing(summary_of(name, profile, digests(profile)))

    def learn(self, load: LoadSummary) -> None:
        """Take a load as another process has read it."""
        self.loads.put(load.name, self._sharing(load))

    def at_hand(self, names: Iterable[str]) -> list[LoadSummary]:
        """Those of some loads that need not be read."""
        found = map(self.loads.known, names)
        return [load for load in found if isinstance(load, LoadSummary)]

    def _sharing(self, load: LoadSummary) -> LoadSummary:
        """Loads of one shape have the same paths, and these are most of what is held of a load."""
        return replace(load, paths=self._paths.setdefault(load.pattern, load.paths))

    def _profile(self, name: str) -> Profile:
        """A load profile that its rulebooks can judge; raises ProblemsFoundError."""
        profile = read_profile(self.plan.found(name), self.plan.root, self.library)
        if found := list(profile_faults(profile, self.rulebooks)):
            raise ProblemsFoundError(found)
        return profile

    def _grouping(self, names: tuple[str, ...]) -> Grouping:
        loads = [load for load in map(self.load, names) if isinstance(load, LoadSummary)]
        return Grouping(
            of_one_shape(loads, self._unchanged(names[0])), self.rulebooks, self._unchanged
        )

    def _unchanged(self, name: str) -> Profile:
        """The profile that the figures of a load are from; raises ProblemsFoundError.

        It may be read anew, and what two versions of a file say must not be put together.
        """
        profile, load = self.profile(name), self.load(name)
        if isinstance(load, str) or digests(profile) != load.digests:
            raise changed_meanwhile(str(profile.file))
        return profile

    def totals(
        self, hauls: Sequence[HaulsOf], cutoffs: Cutoffs, findings: JsonLines | Parquet | None
    ) -> Totals:
        """What hauls come to; their findings are added to those given."""
        totals = Totals()
        alike: dict[str, list[tuple[LoadSummary, HaulsOf]]] = {}
        for each in hauls:
            load = self.load(each.load)
            if isinstance(load, str):
                totals.unfit[each.load] = load
                table, _ = unpacked([each.pieces])
                totals.refuse(Refused(row, load) for row in table.rows.tolist())
                continue
            totals.loads[each.load] = load.file
            totals.files |= load.digests
            alike.setdefault(load.pattern, []).append((load, each))
        for loads in alike.values():
            grouping = self.grouping(tuple(load.name for load, _ in loads))
            for chunk in grouping.chunks(*unpacked([each.pieces for _, each in loads])):
                if isinstance(chunk, Refused):
                    totals.refuse([chunk])
                    continue
                at_once = max(_ROWS_AT_ONCE // chunk.corners, 1)
                for first in range(0, chunk.hauls, at_once):
                    some = chunk.of(slice(first, first + at_once))
                    result = evaluate_chunk(
                        some, self.rulebooks, self.plan.near, keep_all=findings is not None
                    )
                    totals.add(count(result, cutoffs))
                    if findings is not None:
                        findings.add(result)
        return totals


@lru_cache(maxsize=1)
def worker(plan: Plan) -> Worker:
    """The worker of this process."""
    return Worker(plan)


def judged_here(
    plan: Plan,
    rules_digest: str,
    hauls: Sequence[HaulsOf],
    loads: Sequence[LoadSummary] = (),
    cutoffs: Cutoffs = _ALL,
) -> Judged:
    """What some hauls come to; the work that is handed to other processes and machines.

    Of the `loads` those given need not be read again. Of the hauls that are not in order those
    before the cutoffs are remembered one by one.

    Raises OtherRulesError where the rules read here are not those of the digest.
    """
    here = worker(plan)
    if here.rules_digest != rules_digest:
        raise OtherRulesError("found other rulebooks on a worker; wanted the same as here")
    for load in loads:
        here.learn(load)
    findings = FORMS[plan.findings]() if plan.findings else None
    totals = here.totals(hauls, cutoffs, findings)
    return Judged(totals, findings.content() if findings is not None else None)


def loads_here(plan: Plan, names: Sequence[str]) -> list[LoadSummary | str]:
    """Each load, or why it cannot be read."""
    return list(map(worker(plan).load, names))


def digest_of_rules(rulebooks: Rulebooks) -> str:
    """One short digest of all rule files that judging rests on, and of ids variances may name."""
    parts = [f"{book.id} {book.digest}" for book in rulebooks.books]
    parts += [f"{table.id} {table.digest}" for table in rulebooks.tables]
    parts += [f"{amendment.id} {amendment.digest}" for amendment in rulebooks.amendments]
    parts += sorted(rulebooks.elsewhere)
    return digest_of_bytes("\n".join(parts).encode())


def digests(profile: Profile) -> dict[str, str]:
    """The files that a load profile rests on, each with a digest of its text as it was read."""
    return {shown_path(file): digest_of_text(text) for file, text in profile.rests_on.items()}


def changed_meanwhile(file: str) -> ProblemsFoundError:
    """What to say of a file of which some hauls rest on one version and some on another."""
    found = "a load profile that changed while its hauls were judged"
    wanted = "it to stay as it is until the audit is done"
    return ProblemsFoundError([Problem(file, Mark(1, 1), found, wanted)])


def digest_of_text(text: str) -> str:
    """A short digest of a text whose line ends are all of one kind."""
    return digest_of_bytes(text.encode())


def digest_of_bytes(content: bytes) -> str:
    """A short digest."""
    return blake2b(content, digest_size=8).hexdigest()
