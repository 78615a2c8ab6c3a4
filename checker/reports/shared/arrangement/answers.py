"""Which answers of the crew the rules in force ask for, in the order of the work."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.facts.catalogue import catalogue
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import as_stated

BEFORE_LOADING = (
    "walkaround.loaded_on_level_ground",
    "walkaround.coupled_and_braked_to_load",
    "walkaround.ramps_clean_and_secured",
    "walkaround.guide_in_sight",
    "walkaround.nobody_behind",
)
MADE_READY = (
    "articles.*.parking_brake_set",
    "articles.*.accessories_lowered",
    "articles.*.boom_rests",
    "articles.*.mower_deck_rests",
    "articles.*.slew_locked",
    "articles.*.articulation_locked",
    "articles.*.engine_stopped",
    "articles.*.fuel_shut",
    "articles.*.chocked",
    "articles.*.accessories_secured",
    "articles.*.coupler_pins_in",
    "articles.*.roof_and_windscreen_secured",
    "articles.*.loose_parts_secured",
    "articles.*.tracks_clean",
    "articles.*.fixed_to_pallet",
    "articles.*.pallet_sound",
)
BY_EYE = (
    "walkaround.tiedowns_seated",
    "walkaround.tiedowns_tight",
    "walkaround.tiedowns_cannot_release",
    "walkaround.tiedowns_undamaged",
    "walkaround.tiedowns_free_of_knots",
    "walkaround.tiedowns_unrepaired_or_by_maker",
    "walkaround.edges_protected",
    "walkaround.strap_tails_secured",
    "walkaround.strap_tails_clear_of_ground",
    "walkaround.anchors_sound",
    "walkaround.blocking_sound",
    "walkaround.load_cannot_shift",
    "walkaround.nothing_can_fall",
    "walkaround.loose_equipment_secured",
    "walkaround.gate_locked",
    "walkaround.ramps_locked",
    "walkaround.projection_marked",
    "walkaround.flags_fitted",
    "walkaround.view_clear",
    "walkaround.lamps_visible",
    "walkaround.trailer_level",
    "walkaround.tyre_pressures_right",
)
_STATES = {
    Verdict.MET: "",
    Verdict.NOT_MET: "the load states: NO",
    Verdict.TOO_CLOSE: "too close to call",
    Verdict.NOT_STATED: "not stated",
}


class Asked(Struct, frozen=True):
    """What a rule in force asks for; `state` is empty where the load states that it is so."""

    rule: str
    title: str
    state: str

    @property
    def words(self) -> str:
        """The title, with what the load lacks."""
        return f"{self.title} ({self.state})" if self.state else self.title


def asked(check: Check, fields: Sequence[str], article: int | None = None) -> list[Asked]:
    """What the rules ask about these fields, in their order; of one article where it is given.

    One rule speaks for each field: a must-rule before a should-rule, then the one that asks least.
    """
    found: dict[str, Asked] = {}
    for field in fields:
        rules = [each for each in _applying(check) if field in _fields(each)]
        rules.sort(key=lambda each: (each.rule.level != "must", len(each.rule.facts)))
        for finding in rules:
            verdict = _verdict(finding, article)
            met_without = verdict is Verdict.MET and not _is_so(check, field, article)
            if verdict in _STATES and not met_without:
                found.setdefault(
                    finding.rule.id, Asked(finding.rule.id, finding.title, _STATES[verdict])
                )
                break
    return list(found.values())


def _is_so(check: Check, field: str, article: int | None) -> bool:
    """True if the load answers yes: a rule that is met without asks for nothing here."""
    load = check.load
    record = load.walkaround if article is None else load.articles[article]
    return as_stated(getattr(record, field.rpartition(".")[2])) == 1


def _applying(check: Check) -> Iterator[Finding]:
    undecided = [entry.book for entry in check.in_force if entry.verdict is Verdict.NOT_STATED]
    for finding in check.findings:
        if finding.verdict is not Verdict.DOES_NOT_APPLY and finding.book not in undecided:
            yield finding


def _fields(finding: Finding) -> set[str]:
    return {field for name in finding.rule.facts for field in catalogue()[name].fields}


def _verdict(finding: Finding, article: int | None) -> Verdict:
    for subject, verdict in finding.subjects:
        if subject.each == "article" and subject.index == article:
            return verdict
    return finding.verdict if article is None else Verdict.DOES_NOT_APPLY
