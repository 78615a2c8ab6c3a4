"""What a file of findings says at its head: what was audited, by which rules, and the cautions."""

from typing import Any

from checker.reports.shared.portable_paths import portable
from checker.reports.shared.words import CAUTIONS
from checker.season.audit import Audit


def about_findings(audit: Audit, version: str) -> dict[str, Any]:
    """The audit that the findings are from, as data; the same audit gives the same."""
    books = audit.rulebooks
    return {
        "cinchbook": version,
        "cautions": list(CAUTIONS),
        "log": portable(audit.log),
        "digest": audit.digest,
        "near": audit.near,
        **{
            kind: [{"id": each.id, "digest": each.digest} for each in files]
            for kind, files in (
                ("rulebooks", books.books),
                ("tables", books.tables),
                ("amendments", books.amendments),
            )
        },
    }
