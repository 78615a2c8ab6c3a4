"""US federal rulebooks on one bundled load: every verdict worked out by hand beside it.

The arithmetic starts from the numbers the profiles state: the side-by-side (1,420 lb, 104 in long,
60 in wide) at 52 in on a single-axle trailer (GVWR 2,990 lb, 920 lb empty, axle at 124 in rated
2,600 lb, 97 in wide, no brakes), pulled by a truck of 3,420 + 2,740 = 6,160 lb (GVWR 7,100 lb),
38 mi in Utah with a stop after 12 mi, by a district that follows the federal rules.
"""

from datetime import date

from checker.documents.resources import shipped_folder
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict

DAY = date(2026, 5, 14)


# Answered in the walk-around or in the load with what the clause wants.
ANSWERED = (
    "us-site-accessories-down",
    "us-site-parking-brake",
    "us-site-slope-chocked",  # loaded on level ground
    "us-load-fastened",
    "us-vehicle-gear-secured",
    "us-view-clear",
    "us-load-check-duty-change",
    "us-nothing-falls",
    "us-loose-parts-secured",
    "us-load-cannot-shift",
    "us-tiedowns-undamaged",
    "us-anchors-undamaged",
    "us-blocking-undamaged",
    "us-tiedown-standard",
    "us-no-knots",
    "us-tiedown-repairs",
    "us-tiedowns-cannot-release",
    "us-edge-protection",
    "us-no-bare-edge",
    "us-tiedowns-adjustable",
    "us-rolling-cargo-stopped",  # chocked, brake set
    "us-machine-accessories-lowered",
    "us-machine-accessories-secured",
    "us-machine-articulation",  # it does not bend
    "us-lamps-work",
    "us-lamps-visible",
    "us-lamp-colours",
    "us-brakes-stop-and-hold",
    "us-brakes-work",
    "us-tyres-sound",
    "us-parking-brake",
    "us-mirrors",
    "us-fire-extinguisher",
    "us-warning-devices",
    "us-wheel-fasteners",
    "us-yearly-inspection",
    "us-name-and-number",
    "us-medical-certificate",
)
WORKED_OUT = {
    # Tongue 105 + 1420 x (124 - 109.35) / 124 = 273 lb, so the axle carries 2340 - 273 = 2067 lb
    # of 2600, and the coupling bears down.
    "us-load-distributed": "2067 <= 2600",
    "us-first-load-check": "12 <= 50 mi",
    "us-load-check-miles": "38 - 12 = 26 <= 150 mi",
    "us-load-check-hours": "26 of 38 mi in 1 h: 0.68 <= 3 h",
    # Rear straps (0.5209, 0.4735, 0.7103) pull rearward, front ones (0.4216, 0.5270, 0.7379)
    # forward, one of each pair to each side.
    "us-held-every-way": "a strap against each way",
    "us-machine-held": "a strap against each way, all pull down",
    # With working load limits the balance for 0.8, 0.5 and 0.5 g stands in the Canadian test beside
    # this; straps that break at 10,000 lb hold no less, and 0.435, 0.5 and 0.25 g ask for less.
    "us-held-to-breaking-strength": "0.8, 0.5, 0.5 g",
    "us-held-to-working-load-limit": "0.435, 0.5, 0.25 g",
    "us-downward-force": "2 x 3333 x (0.7379 + 0.7103) = 9653 >= 0.2 x 1420 = 284 lb",
    "us-cargo-immobilised": "4 tiedowns",
    "us-aggregate-working-load-limit": "4 x 3333 / 2 = 6666 >= 1420 / 2 = 710 lb",
    "us-tiedown-device-rated": "3333 lb is marked",
    "us-tiedown-weakest-part": "3333, hooks 3333, ratchet 3333, anchor 5000 lb",
    "us-count-up-to-ten-feet": "104 in is over 5 and up to 10 ft: 4 >= 2",
    # Under 10,000 lb the crew chose the rule for heavy machines.
    "us-machine-four-tiedowns": "4 >= 4",
    "us-machine-tiedowns-at-ends": "2 in front, 2 behind",
    "us-machine-mounting-points": "all four hook to the frame",
    "us-width": "97 <= 102 in",
    # 2340 <= 3000 lb, and the axle's 2067 lb are no more than 0.4 x 6160 = 2464 lb: none needed.
    "us-trailer-brakes": "no brakes needed",
    "us-trailer-brakes-every-axle": "no brakes needed",
    "us-breakaway-hold-time": "no breakaway device needed",
    "us-trailer-path": "1 <= 3 in, answered straight",
    "us-front-tread": "7/32 >= 4/32 in",
    "us-tread": "5/32 >= 2/32 in",
    "us-tyre-load": "2067 / 2 = 1034 <= 1360 lb, both sides alike",
    "us-tyre-pressure": "66 >= 65 psi, answered right",
}
NO_CONCERN = {
    "us-licence-group-a": "7100 + 2990 lb and every weight below 26,001 lb",
    "us-licence-group-b": "7100 < 26,001 lb",
    "us-licence-group-c": "5 seats, no placard",
    "us-steel-strapping-seals": "webbing",
    "us-commodity-rules": "a machine",
    "us-articles-side-by-side": "one article",
    "us-count-short-light": "longer than 5 ft",
    "us-count-short-heavy": "longer than 5 ft",
    "us-count-over-ten-feet": "104 in < 10 ft",
    "us-count-blocked": "52 - 46 = 6 in from the rail, not blocked",
    "us-special-methods-fastened": "none needed",
    "us-front-structure-height": "nothing touches it",
    "us-front-structure-width": "nothing touches it",
    "us-front-structure-strength": "nothing touches it",
    "us-tall-front-structure-strength": "nothing touches it",
    "us-front-structure-openings": "nothing touches it",
    "us-front-structure-piercing": "nothing touches it",
    "us-road-vehicle-two-tiedowns": "a machine under the rule for heavy machines",
    "us-road-vehicle-held": "a machine under the rule for heavy machines",
    "us-road-vehicle-mounting-points": "a machine under the rule for heavy machines",
    "us-wheel-tiedowns-hold-every-way": "no strap over a wheel",
    "us-reflective-marking": "97 >= 80 in, but 2990 lb is not over 10,000",
    "us-older-trailer-marking": "97 >= 80 in, but 2990 lb is not over 10,000",
    "us-rear-guard": "2990 < 10,000 lb",
    "us-intrastate-federal-rules": "a government body",
    "us-side-projection-lamps": "60 in within 97 in",
    "us-rear-projection-lamps": "its rear end at 156 in, the deck's at 166",
    "us-projection-flags": "nothing sticks out",
    "us-projection-flag-size": "nothing sticks out",
    "us-rear-flag-count": "nothing sticks out",
    "us-tow-brakes-after-breakaway": "a trailer without brakes",
    "us-breakaway-fitted": "no brakes needed",
    "us-breakaway-ready": "no brakes needed",
    "us-breakaway-works-every-brake": "no brakes needed",
    "us-surge-brakes-light-trailer": "no surge brakes",
    "us-surge-brakes-heavy-trailer": "no surge brakes",
    "us-surge-brakes-largest-trailer": "no surge brakes",
    "us-fifth-wheel-secured": "a ball behind the truck",
    "us-fifth-wheel-locked": "a ball behind the truck",
    "us-in-bed-coupling-placed": "a ball behind the truck",
    "us-full-trailer-tow-bar-strength": "its tongue bears on the truck: no full trailer",
    "us-full-trailer-tow-bar-fixed": "no full trailer",
    "us-full-trailer-tow-bar-play": "no full trailer",
    "us-full-trailer-coupling-locked": "no full trailer",
    "us-full-trailer-safety-device": "no full trailer",
    "us-full-trailer-chains-apart-from-coupling": "no full trailer",
    "us-full-trailer-chain-slack": "no full trailer",
    "us-full-trailer-chain-strength": "no full trailer",
    "us-full-trailer-bar-cannot-drop": "no full trailer",
    "us-full-trailer-chain-points-apart": "no full trailer",
    "us-full-trailer-chains-even": "no full trailer",
}


def test_every_federal_rule_on_the_side_by_side(books: Rulebooks) -> None:
    by_hand = dict.fromkeys((*ANSWERED, *WORKED_OUT), Verdict.MET)
    by_hand |= dict.fromkeys(NO_CONCERN, Verdict.DOES_NOT_APPLY)
    profile = read_profile(shipped_folder("profiles") / "loads" / "side-by-side-in-order.yaml")
    found = {
        finding.rule.id: finding.verdict
        for finding in check_profile(profile, books, DAY).findings
        if finding.book.jurisdiction == "US"
    }
    assert found == by_hand
