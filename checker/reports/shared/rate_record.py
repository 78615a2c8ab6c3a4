"""Rates and comparisons of an audit as plain data, and the counts that a later audit needs."""

from typing import Any

from msgspec import to_builtins

from checker.reports.shared.change_record import NOT_WRITTEN, change_json
from checker.reports.shared.rate_words import per_distance
from checker.season.audit import Audit
from checker.season.rates.correcting import FEWEST, LEVEL
from checker.season.rates.exposure import Exposure
from checker.season.rates.statistics import CONFIDENCE, share_interval


def statistics_json(audit: Audit) -> dict[str, Any]:
    """How often each group is on hold, and every comparison with the others."""
    return {
        "confidence": CONFIDENCE,
        "level": LEVEL,
        "fewest": FEWEST,
        "rates": {
            kind: {name: _rate(each) for name, each in sorted(names.items())}
            for kind, names in sorted(audit.exposures.items())
        },
        "comparisons": [
            {name: value for name, value in to_builtins(each).items() if name not in NOT_WRITTEN}
            for each in audit.comparisons.contrasts
        ],
        "changed_on": audit.changed_on.isoformat() if audit.changed_on else None,
        "since": change_json(audit.comparisons.since),
    }


def exposures_json(audit: Audit) -> dict[str, Any]:
    """Decided hauls and those on hold by load and crew, and what carries each load."""
    counted = audit.totals.exposures
    return {
        load: {
            "load": counted.carried[load].load or load,
            "trailer": counted.carried[load].trailer,
            "machines": list(counted.carried[load].machines),
            "tow vehicle": counted.carried[load].tow_vehicle,
            "crews": {
                crew: {
                    "decided": sum(each.decided for each in months.values()),
                    "held": sum(each.held for each in months.values()),
                }
                for crew, months in sorted(crews.items())
            },
        }
        for load, crews in sorted(counted.hauled.items())
    }


def _rate(each: Exposure) -> dict[str, Any]:
    low, high = share_interval(each.held, each.decided)
    driven = per_distance(each, metric=True)
    return {
        **to_builtins(each),
        "share": each.held / each.decided,
        "low": low,
        "high": high,
        "per_1000_km": dict(zip(("rate", "low", "high"), driven, strict=True)) if driven else None,
    }
