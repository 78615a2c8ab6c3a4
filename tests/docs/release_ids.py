"""Adds the ids of all shipped rules to `rules/released-ids.txt`; run it at each release.

It only ever adds. Of a rule that is gone, write `removed: ` before its title by hand.
"""

from pathlib import Path

from checker.rulebooks.loading import load_rulebooks
from checker.upkeep.released import LIST_NAME, with_added

RULES = Path(__file__).resolve().parents[2] / "rules"


def main() -> None:
    """Rewrite the list in place."""
    books = load_rulebooks(RULES).books
    titles = {rule.id: rule.title for book in books for rule in book.rules}
    path = RULES / LIST_NAME
    path.write_text(with_added(path.read_text() if path.exists() else "", titles))


if __name__ == "__main__":
    main()
