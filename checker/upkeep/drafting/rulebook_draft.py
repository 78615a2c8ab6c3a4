"""The draft of a rulebook."""

from datetime import date, timedelta

from checker.documents.document import Data
from checker.upkeep.drafting.draft import CHOSEN, Draft


def rulebook_draft(day: date) -> Draft:
    """A rulebook with one rule of common practice, whose proofs cover its figure and its day."""
    before = day - timedelta(days=1)

    def proof(name: str, speed: str, expect: str, origin: str, on: date = day) -> Data:
        given: dict[str, Data] = {"trip.speed": speed}
        return {
            "name": name,
            "on": on.isoformat(),
            "given": given,
            "expect": expect,
            "origin": origin,
        }

    rule: dict[str, Data] = {
        "id": "our-top-speed",
        "title": "Trailers go no faster than we allow",
        "question": "trip",
        "requires": "trip.speed <= fastest",
        "thresholds": {
            "fastest": {
                "stricter": "lower",
                "values": [{"value": "55 mph", "from": day.isoformat(), "common_practice": "yes"}],
            }
        },
        "common_practice": "yes",
        "basis": "common practice",
        "level": "should",
        "because": "Sway and stopping distance grow with speed.",
        "fix": "Plan the trip slower, or take another road.",
        "proofs": [
            proof("at the limit, on the first day", "55 mph", "met", "our practice: 55 is allowed"),
            proof("just over", "55.05 mph", "not met", "our practice: more than 55 mph"),
            proof("just under", "54.95 mph", "met", "our practice: less than 55 mph"),
            proof("the day before", "50 mph", "not stated", "no figure yet", before),
        ],
    }
    left_out = {"for_each": CHOSEN, "when": CHOSEN, "shows": CHOSEN, "source": CHOSEN}
    return Draft(
        kind="rulebook",
        opening=(
            "A rulebook with one rule to put yours in place of. Every number is a threshold with a",
            "day and a source, and the proofs guard it: run `cinchbook prove --rules FOLDER`.",
            "Lines that begin with `# ` are further fields.",
        ),
        stated={
            "kind": "rulebook",
            "id": "our-rules",
            "title": "New rulebook",
            "jurisdiction": "any",
            "proved_on": day.isoformat(),
            "rules": [rule],
        },
        outline={
            "id": CHOSEN,
            "title": CHOSEN,
            "jurisdiction": CHOSEN,
            "proved_on": CHOSEN,
            "applies": {"when": CHOSEN, "because": CHOSEN, "proofs": CHOSEN},
            "rules": [
                {
                    **dict.fromkeys(rule),
                    **left_out,
                    "at": CHOSEN,
                    "about": CHOSEN,
                    "usual_at_limit": CHOSEN,
                }
            ],
        },
        every_field=False,
        questions=dict.fromkeys(("id", "title", "jurisdiction")),
    )
