"""Words of the trade for the words that files use: what somebody means who types `bumper pull`."""

from collections.abc import Iterable, Mapping
from typing import Final

_MEANT: Final[Mapping[str, tuple[str, ...]]] = {
    # Couplings.
    "ball": ("bumper pull", "bumper", "tag along", "tagalong", "ball hitch", "tow ball", "hitch"),
    "gooseneck": ("goose neck", "goose", "gn"),
    "fifth wheel": ("5th wheel", "fiver", "kingpin", "king pin"),
    "pintle": ("pintle hook", "lunette", "lunette eye", "ring hitch"),
    # Axles and brakes.
    "single": ("one", "one axle", "single axle"),
    "equalised": ("equalized", "equalizer", "leaf springs", "tandem", "walking beam"),
    "independent": ("torsion", "torsion axle", "rubber torsion", "independently sprung"),
    "surge": ("inertia", "hydraulic surge", "overrun"),
    "electric": ("electrical", "electric drum"),
    "hydraulic": ("electric over hydraulic", "eoh"),
    "air": ("air brakes", "pneumatic"),
    "none": ("no", "no brakes", "without", "nothing"),
    # What is carried.
    "wheeled machine": (
        *("mower", "zero turn", "zero-turn", "tractor", "skid steer", "skid-steer", "forklift"),
        *("utv", "atv", "side by side", "side-by-side", "wheel loader", "ride-on mower"),
    ),
    "tracked machine": (
        *("excavator", "mini excavator", "dozer", "bulldozer", "track loader", "crawler"),
        *("compact track loader", "tracked"),
    ),
    "road vehicle": ("car", "truck", "pickup", "van", "suv"),
    "palletised goods": ("pallet", "pallets", "palletized", "palletized goods", "sod", "stone"),
    "implement": ("attachment", "bucket", "cutter", "auger", "tiller"),
    # Tiedowns and how they run.
    "webbing": ("strap", "ratchet", "ratchet strap", "web", "web strap", "belt"),
    "wire rope": ("cable", "steel cable", "wire"),
    "unidentified synthetic rope": ("rope", "synthetic rope"),
    "steel strapping": ("steel band", "banding"),
    "winch line": ("winch", "winch cable"),
    "direct": ("point to point", "hooked on", "attached", "straight"),
    "other side": ("over", "over the top", "across", "top over"),
    "same side": ("around", "loop", "looped"),
    # Anchors and points.
    "d-ring": ("d ring", "ring", "dring", "lashing ring"),
    "stake pocket": ("pocket", "stake"),
    "rail": ("rub rail", "side rail"),
    "floor track": ("track", "e-track", "e track"),
    "tow loop": ("tow hook", "tow eye", "towing eye"),
    "hitch receiver": ("receiver", "drawbar"),
    "tie-down point": ("tie down", "tiedown point", "tie-down", "lashing point"),
    # Ways.
    "forward": ("front", "ahead", "forwards", "nose first"),
    "rearward": ("rear", "back", "backward", "backwards", "tail first"),
    # Weights by the words of other places. ATM counts the coupling load, GTM does not.
    "gvwr": ("atm", "mam", "mtplm", "gvm", "zgm", "ptac", "gross weight rating"),
    "gcwr": ("gcm", "gtw", "train weight", "gross train weight"),
    "unladen_weight": ("kerb weight", "curb weight", "tare", "empty mass", "net weight"),
    "largest_trailer_weight": ("towing capacity", "towing limit", "tow rating"),
    "tongue_rating": ("nose weight", "s value", "tow ball download", "coupling load"),
    # The day on a trailer's plate, and what earlier versions asked in its place.
    "built": (
        *("made", "manufactured", "date of manufacture", "built on", "year", "model year"),
        *("made since july 1988", "made since december 1993", "made since january 2016"),
    ),
    # Licences and kinds of file.
    "ordinary": ("regular", "normal", "car licence", "car license", "b", "class c", "class 5"),
    "learner or restricted": ("learner", "restricted", "provisional"),
    "b96": ("b with code 96", "b+"),
    "be": ("b+e",),
    "c1e": ("c1+e",),
    "group a": ("class a", "cdl a"),
    "group b": ("class b", "cdl b"),
    "tow-vehicle": ("truck", "pickup", "car", "tow vehicle", "towing vehicle"),
    "machine": ("mower", "excavator", "tractor", "article", "equipment", "cargo"),
    "tiedown": ("strap", "chain", "rope", "tie-down", "binder"),
    "gear": ("box", "toolbox", "kit", "equipment list", "tiedowns", "straps", "chains", "blocks"),
    "carrier": ("company", "crew", "owner"),
    "load": ("haul", "plan", "trip"),
    "rulebook": ("rule", "rules"),
}


def word_meant(word: str, words: Iterable[str]) -> str | None:
    """The one of the accepted words that the trade also calls so; None if there is none.

    The same word in other letters comes first.
    """
    folded = " ".join(word.casefold().replace("_", " ").split())
    known = list(words)
    if folded in known:
        return folded
    for accepted in known:
        if folded in _MEANT.get(accepted, ()):
            return accepted
    return None
