"""The facts of one load, each calculated once, as seen from the load or from one of its parts."""

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from checker.facts.catalogue import Each, Fact, catalogue
from checker.facts.unmarked import UnmarkedRatings
from checker.load.model import Article, Axle, Load, Origin, Tiedown
from checker.units.arithmetic import Compared, Number, anywhere

T = TypeVar("T")


class Subject(Struct, frozen=True):
    """What a fact or a finding is about: one article, tiedown or axle, by its index in the load."""

    each: Each
    index: int
    name: str


class FactInputs(Struct, frozen=True):
    """The direct inputs of one fact: paths of its own fields, and the facts it uses.

    `instead` are the fields it uses where `fields` alone do not decide it.
    """

    fact: Fact
    subject: Subject | None
    fields: tuple[str, ...]
    instead: tuple[str, ...]
    uses: tuple[tuple[str, Subject | None], ...]


class View:
    """The facts of one article, tiedown or axle, or of the whole load if `subject` is None."""

    def __init__(self, facts: "Facts", subject: Subject | None) -> None:
        """Use `Facts.view` instead."""
        self.facts = facts
        self.subject = subject
        self.load = facts.load

    def __getitem__(self, name: str) -> Number:
        """Value of another fact of the same subject, or of the load."""
        return self.facts.value(name, self.subject)

    @property
    def article(self) -> Article:
        """The article in view: the subject itself, or the one that the tiedown in view holds."""
        assert self.subject is not None
        if self.subject.each == "tiedown":
            return self.tiedown.article
        return self.load.articles[self.subject.index]

    @property
    def tiedown(self) -> Tiedown:
        """The tiedown that is the subject; only the facts of tiedowns have one."""
        assert self.subject is not None
        return (self.load.tiedowns or ())[self.subject.index]

    @property
    def axle(self) -> Axle:
        """The trailer axle that is the subject; only the facts of axles have one."""
        assert self.subject is not None
        return self.load.trailer.axles[self.subject.index]

    def of_articles(self, name: str) -> list[Number]:
        """A fact of every article of the load."""
        return [self.facts.value(name, each) for each in self.facts.subjects("article")]

    def of_tiedowns(self, name: str) -> list[Number] | None:
        """A fact of every tiedown that holds the article in view; None where not stated."""
        if self.load.tiedowns is None:
            return None
        return [
            self.facts.value(name, each)
            for each in self.facts.subjects("tiedown")
            if self.load.tiedowns[each.index].article is self.article
        ]


class Facts:
    """The facts of one load under the tables in force, each calculated once."""

    def __init__(self, load: Load, unmarked: UnmarkedRatings) -> None:
        """Hold the load and the table of unmarked devices; nothing is calculated yet."""
        self.load = load
        self.unmarked = unmarked
        self._known: Mapping[str, Fact] = catalogue()
        self._values: dict[tuple[str, Subject | None], Number] = {}
        self._once: dict[Hashable, Any] = {}
        self._fields: dict[tuple[str, Subject | None], Mapping[str, None]] = {}
        self._named: dict[tuple[str, Subject | None], list[str]] = {}

    def at(self, place: str) -> "Facts":
        """The facts of the same load on a trip through one place alone."""
        trip = replace(self.load.trip, places=(place,))
        return Facts(replace(self.load, trip=trip), self.unmarked)

    def subjects(self, each: Each) -> Sequence[Subject]:
        """All articles, tiedowns or axles of the load."""
        return self.once(("subjects", each), lambda: self._subjects(each))

    def _subjects(self, each: Each) -> tuple[Subject, ...]:
        match each:
            case "article":
                names = [article.name for article in self.load.articles]
            case "tiedown":
                names = [
                    _tiedown_name(tiedown, index)
                    for index, tiedown in enumerate(self.load.tiedowns or ())
                ]
            case "axle":
                names = [f"axle {axle.name}" for axle in self.load.trailer.axles]
        return tuple(Subject(each, index, name) for index, name in enumerate(names))

    def view(self, subject: Subject | None) -> View:
        """The facts as seen from that subject."""
        return View(self, subject)

    def value(self, name: str, subject: Subject | None) -> Number:
        """One fact for that subject; facts of the load ignore the subject.

        A fact of articles seen from a tiedown is that of the article it holds.
        """
        known = self._known[name]
        where = self._place(known, subject)
        key = (name, where)
        value = self._values.get(key)
        if value is None:
            value = self._values[key] = known.compute(View(self, where))
        return value

    def once(self, key: Hashable, work_out: Callable[[], T]) -> T:
        """The result of `work_out`, calculated on the first call with that key."""
        if key not in self._once:
            self._once[key] = work_out()
        found: T = self._once[key]
        return found

    def _place(self, known: Fact, subject: Subject | None) -> Subject | None:
        if known.each is None:
            return None
        if subject is not None and subject.each == "tiedown" and known.each == "article":
            held = (self.load.tiedowns or ())[subject.index].article
            index = next(i for i, each in enumerate(self.load.articles) if each is held)
            return Subject("article", index, held.name)
        return subject

    def fields(self, name: str, subject: Subject | None) -> Mapping[str, None]:
        """Every profile field behind a fact, as seen from that subject, its own fields first."""
        known = self._known[name]
        where = self._place(known, subject)
        key = (name, where)
        if key not in self._fields:
            found = dict.fromkeys(
                path
                for pattern in (*known.fields, *known.instead)
                for path in self._paths(pattern, where)
            )
            for other, part in self._used(known, where):
                found |= self.fields(other, part)
            self._fields[key] = found
        return self._fields[key]

    def inputs(self, name: str, subject: Subject | None) -> FactInputs:
        """The inputs of a fact as seen from that subject; the inputs may have other subjects."""
        known = self._known[name]
        where = self._place(known, subject)
        own = (path for pattern in known.fields for path in self._paths(pattern, where))
        others = (path for pattern in known.instead for path in self._paths(pattern, where))
        return FactInputs(
            fact=known,
            subject=where,
            fields=tuple(path for path in own if self._asked(path)),
            instead=tuple(others),
            uses=tuple(self._used(known, where)),
        )

    def _used(self, known: Fact, where: Subject | None) -> Iterator[tuple[str, Subject | None]]:
        """The facts a fact uses, each with the subjects it is used for."""
        for other in known.uses:
            each = self._known[other].each
            same = each is None or (where is not None and each == where.each)
            parts = [where] if same else self._within(each, where)
            yield from ((other, part) for part in parts)

    def _within(self, each: Each | None, where: Subject | None) -> list[Subject | None]:
        """The subjects a fact sums over: all of the load, or the tiedowns that hold an article."""
        if each is None:
            return [None]
        parts: list[Subject | None] = list(self.subjects(each))
        if where is None:
            return parts
        if where.each == "tiedown":
            return [where]
        held = self.load.articles[where.index] if where.each == "article" else None
        tiedowns = self.load.tiedowns or ()
        return [part for part in parts if part and tiedowns[part.index].article is held]

    def origins(self, name: str, subject: Subject | None) -> dict[str, Origin]:
        """The location of each stated field behind a fact."""
        stated = self.load.origins
        paths = self.fields(name, subject)
        return {path: stated[path] for path in paths if path in stated}

    def missing(self, name: str, subject: Subject | None) -> Sequence[str]:
        """Missing fields that leave a fact unknown in any row, each once."""
        return list(self.missing_by_row(name, subject))

    def missing_by_row(self, name: str, subject: Subject | None) -> Mapping[str, Compared]:
        """Missing fields that leave a fact unknown, each with the rows in which they do."""
        where = self._place(self._known[name], subject)
        return self.once(("missing", name, where), lambda: self._missing(name, where))

    def _missing(self, name: str, where: Subject | None) -> dict[str, Compared]:
        unknown: Compared = np.isnan(self.value(name, where))
        found: dict[str, Compared] = {}

        def add(field: str, rows: Compared) -> None:
            waiting = rows & unknown
            if anywhere(waiting):
                found[field] = found[field] | waiting if field in found else waiting

        if not anywhere(unknown):
            return found
        known = self._known[name]
        for path in self._own_paths(known.fields, where):
            if self._asked(path):
                add(path, self._is_absent(path))
        if not (self.load.articles or self.load.deck_empty) and any(
            self._known[other].each == "article" for other in known.uses
        ):
            add("articles", rows=True)
        for other, part in self._used(known, where):
            for path, rows in self.missing_by_row(other, part).items():
                add(path, rows)
        explained: Compared = False
        for rows in found.values():
            explained = explained | rows
        if not np.all(explained | np.logical_not(unknown)):
            # All its preferred fields are stated, so one of its alternative fields is missing.
            for path in self._own_paths(known.instead, where):
                add(path, self._is_absent(path) & np.logical_not(explained))
        return found

    def _own_paths(self, patterns: Iterable[str], where: Subject | None) -> Iterator[str]:
        return (path for pattern in patterns for path in self._paths(pattern, where))

    def _is_absent(self, path: str) -> Compared:
        """True in rows where the profile does not state a field."""
        if path not in self.load.origins:
            return True
        return np.isnan(self.load.varied[path]) if path in self.load.varied else False

    def _asked(self, path: str) -> bool:
        """True if a field applies to what is stated: only a direct tiedown has an attachment.

        Until its path is stated, only the path is asked for. Surfaces that are named want their
        condition, and no friction.
        """
        match path.split("."):
            case ["tiedowns", index, "attachment" | "over" | "far_anchor" as field]:
                run = (self.load.tiedowns or ())[int(index) - 1].path
                return run is not None and (run == "direct") == (field == "attachment")
            case ["articles", index, "friction" | "surface_condition" as field]:
                article = self.load.articles[int(index) - 1]
                half_named = article.surfaces is not None and article.surface_condition is None
                return half_named == (field == "surface_condition")
        return True

    def _paths(self, pattern: str, where: Subject | None) -> list[str]:
        """The fields that a pattern such as `articles.*.weight` means, as seen from the subject."""
        key = (pattern, where)
        if key not in self._named:
            self._named[key] = self._fields_named(pattern, where)
        return self._named[key]

    def _fields_named(self, pattern: str, where: Subject | None) -> list[str]:
        head, star, tail = pattern.partition(".*")
        if not star:
            return [pattern]
        names = self._entries(head, where)
        if not names:
            return [head]
        paths = [f"{head}.{name}{tail}" for name in names]
        return [inner for path in paths for inner in self._paths(path, where)]

    def _entries(self, head: str, where: Subject | None) -> list[str]:
        load, view = self.load, View(self, where)
        each = where.each if where else None
        tiedown = view.tiedown if each == "tiedown" else None
        match head.split("."):
            case ["articles"]:
                chosen = [view.article] if each in ("article", "tiedown") else load.articles
                return [
                    str(i + 1) for i, a in enumerate(load.articles) if any(a is c for c in chosen)
                ]
            case ["tiedowns"]:
                return (
                    [str(where.index + 1)]
                    if where and tiedown
                    else [str(index + 1) for index in range(len(load.tiedowns or ()))]
                )
            case ["trip", "load_checks"]:
                return [str(number + 1) for number in range(len(load.trip.load_checks or ()))]
            case ["trailer", "axles"]:
                return [view.axle.name] if each == "axle" else [a.name for a in load.trailer.axles]
            case ["trailer", "anchors"]:
                ends = (tiedown.anchor, tiedown.far_anchor) if tiedown else load.trailer.anchors
                return [anchor.name for anchor in ends if anchor]
            case ["articles", index, "attachments" | "blocks" as named]:
                if tiedown:
                    point = tiedown.attachment
                    passed = [each.name for each in tiedown.over]
                    return [point.name, *passed] if point else passed
                return [each.name for each in getattr(load.articles[int(index) - 1], named)]
        return []


def _tiedown_name(tiedown: Tiedown, index: int) -> str:
    ends = [end.name for end in (tiedown.anchor, tiedown.far_anchor) if end]
    where = f" at {' and '.join(ends)}" if ends else ""
    return f"tiedown {index + 1}{where}"
